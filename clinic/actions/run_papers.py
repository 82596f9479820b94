"""Works on a run of papers: claims an item, makes its paper outside any transaction, writes down what came of it."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import uuid5

from django.db import transaction

from clinic.actions import paper_runs
from clinic.actions.issue_partner_statement import issue_partner_statement
from clinic.actions.issue_statement import issue_statement
from clinic.actions.issued_papers import IssuedBefore
from clinic.models import House, IssuedPaper, PaperRun, RunItem
from clinic.queries import issued_papers
from clinic.queries.stationery import Stationery, stationery_of
from config.refusal import Refusal
from config.render import PaperNotPrinted
from ledger.queries import donor_contacts

BROKEN = "The paper could not be made for a reason of the program’s own; it is written in the log. Try it again."
log = logging.getLogger("clinic.papers")


def work(
    *,
    run: PaperRun,
    worker: str,
    now: Callable[[], datetime],
    lease: timedelta = paper_runs.LEASE,
    most: int | None = None,
    until: datetime | None = None,
    tell: Callable[[], None] = lambda: None,
) -> int:
    """Make the papers of a run, one after another; return how many items were taken.

    It ends when nothing waits, after `most` items, or once the moment `until` has passed. All of them are written on
    what the stationery is now: a logo, a signatory or a wording that is changed meanwhile begins with the next call.
    """
    done, stationery = 0, stationery_of(House.objects.get())

    def following() -> RunItem | None:
        """Claim the next item, within whatever is being kept."""
        may_go_on = (most is None or done < most) and (until is None or now() < until)
        return paper_runs.claim(run=run, worker=worker, at=now(), lease=lease) if may_go_on else None

    with transaction.atomic(durable=True):
        item = following()
    while item is not None:
        done += 1
        item = _make(run, item, stationery, now(), following)
        tell()
    return done


def _make(
    run: PaperRun, item: RunItem, stationery: Stationery, at: datetime, following: Callable[[], RunItem | None]
) -> RunItem | None:
    """Make one paper and return the next item: it is claimed in the transaction that writes down what came of this."""
    claimed: list[RunItem | None] = []

    def kept(paper: IssuedPaper, says: str = "") -> None:
        paper_runs.finish(item=item, paper=paper, says=says)
        claimed.append(following())

    paper, says = _tried(run, item, stationery, at, kept)
    if paper is None or not claimed:  # what was claimed with a paper that could not be kept is not claimed either
        with transaction.atomic(durable=True):
            if paper is not None:
                kept(paper, says)
            else:
                paper_runs.give_up(item=item, says=says)
                claimed.append(following())
    return claimed[-1]


def _tried(
    run: PaperRun, item: RunItem, stationery: Stationery, at: datetime, kept: Callable[[IssuedPaper], None]
) -> tuple[IssuedPaper | None, str]:
    """Return the paper, or why there is none: one bad item never stops the run."""
    try:
        return _issued(run, item, stationery, at, kept), ""
    except IssuedBefore as before:
        standing = _standing(run, item)
        return standing, f"Paper {standing.number} stood already." if standing else str(before)
    except (Refusal, PaperNotPrinted) as refused:
        return None, str(refused)
    except Exception:
        log.exception("item %s of run %s", item.pk, run.pk)
        return None, BROKEN


def _issued(
    run: PaperRun, item: RunItem, stationery: Stationery, at: datetime, kept: Callable[[IssuedPaper], None]
) -> IssuedPaper:
    days = {"from_on": run.from_on, "to_on": run.to_on}
    common = {**days, "stationery": stationery, "by": run.started_by, "today": run.started_on, "at": at, "also": kept}
    if item.partner:
        return issue_partner_statement(key=uuid5(run.key, f"partner {item.partner.pk}"), partner=item.partner, **common)
    donor = donor_contacts.addressee(donor_id=item.donor_id or 0)
    if donor is None:
        raise Refusal("This donor is no longer in the books, so nothing was made.")
    if donor.id != item.donor_id and run.items.filter(donor_id=donor.id).exists():
        raise Refusal(f"They were merged with {donor.name} since, whose paper tells of both. Nothing was made.")
    key = uuid5(run.key, f"donor {donor.id}")
    whose = {"donor_id": donor.id, "donor": donor.name, "address": donor.address, "form": run.form}
    return issue_statement(key=key, **whose, **common)


def _standing(run: PaperRun, item: RunItem) -> IssuedPaper | None:
    return issued_papers.standing(donor_id=item.donor_id, partner=item.partner, from_on=run.from_on, to_on=run.to_on)
