"""Starts, cancels and retries a run of papers, and hands its items to workers, each to one at a time.

An item that a worker has claimed and not finished goes to another once its beat is older than the lease. Its paper's
key is made of the run's and the recipient's, so that what was issued before a crash is found and not made twice.

Refusal
└── RunRefused
    └── NobodyInIt     no donor or partner has anything in these days
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import F, Max, Q

from clinic.models import IssuedPaper, PaperRun, Partner, RunItem, User
from config.refusal import Refusal
from ledger.queries import charges, donor_choices, donor_contacts

LEASE = timedelta(minutes=2)
TRIED_AT_ONCE = 8
RUNS = UUID("5be1c1f6-0d0b-4c0d-8a7e-3f0f7a3a6d11")


class RunRefused(Refusal):
    """No run was started."""


class NobodyInIt(RunRefused):
    field = "to_on"

    def __init__(self, kind: str) -> None:
        whose = "donor gave or had a gift at work" if kind == PaperRun.Kind.DONORS else "partner’s animal was in care"
        super().__init__(f"No {whose} in these days. No run was started. Choose other days.")


def run_key(*, kind: str, from_on: date, to_on: date, form: str) -> UUID:
    """Return the key of these papers: asked for again, the same run goes on.

    >>> days = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31), "form": ""}
    >>> run_key(kind="donor", **days) == run_key(kind="donor", **days) != run_key(kind="partner", **days)
    True
    """
    return uuid5(RUNS, f"{kind} {from_on} {to_on} {form}")


@transaction.atomic
def start(
    *, key: UUID, kind: str, from_on: date, to_on: date, form: str, by: User, today: date, at: datetime
) -> PaperRun:
    """Start a run over everybody who has something in these days; the same key goes on with it, late comers joining.

    Donors who want nothing, and those whose name was erased, are left out.

    :raises NobodyInIt: when there is nobody.
    """
    run, _ = PaperRun.objects.get_or_create(
        key=key,
        defaults={
            "kind": kind, "from_on": from_on, "to_on": to_on, "form": form, "started_on": today, "started_by": by,
            "started_at": at,
        },
    )  # fmt: skip
    name, wanted = _recipients(run)
    known = set(run.items.values_list(name, flat=True))
    first = (run.items.aggregate(last=Max("place"))["last"] or 0) + 1
    new = [number for number in wanted if number not in known]
    RunItem.objects.bulk_create(
        [RunItem(run=run, place=place, **{name: number}) for place, number in enumerate(new, first)], batch_size=500
    )
    if not known and not new:
        raise NobodyInIt(kind)
    return run


def _recipients(run: PaperRun) -> tuple[str, tuple[int, ...]]:
    days = {"from_on": run.from_on, "to_on": run.to_on}
    if run.kind == PaperRun.Kind.DONORS:
        found = donor_choices.with_money(**days)
        how = donor_contacts.contacts(ids=found)
        return "donor_id", tuple(number for number in found if how[number].gets_papers)
    keys = charges.parties(from_on=run.from_on, until_on=run.to_on)
    return "partner_id", tuple(Partner.objects.filter(key__in=keys).order_by("name").values_list("pk", flat=True))


@transaction.atomic
def claim(*, run: PaperRun, worker: str, at: datetime, lease: timedelta = LEASE) -> RunItem | None:
    """Hand the next item to a worker, or None where nothing waits or the run is canceled."""
    free = Q(state=RunItem.State.WAITING) | Q(state=RunItem.State.WORKING, beat_at__lte=at - lease)
    waiting = run.items.filter(free, run__canceled_at=None).select_related("partner").order_by("place")
    while chosen := list(waiting[:TRIED_AT_ONCE]):
        for item in chosen:
            taken = RunItem.objects.filter(free, pk=item.pk).update(
                state=RunItem.State.WORKING, worker=worker, beat_at=at, tries=F("tries") + 1, says=""
            )
            if taken:
                return item
    return None


@transaction.atomic
def finish(*, item: RunItem, paper: IssuedPaper, says: str = "") -> None:
    """Write down the paper of an item; whoever finished it first has done so."""
    RunItem.objects.filter(pk=item.pk).exclude(state=RunItem.State.MADE).update(
        state=RunItem.State.MADE, paper=paper, says=says
    )


@transaction.atomic
def give_up(*, item: RunItem, says: str) -> None:
    """Write down in a sentence why an item could not be made; the run goes on."""
    RunItem.objects.filter(pk=item.pk, state=RunItem.State.WORKING).update(
        state=RunItem.State.NOT_MADE, says=says[:400]
    )


@transaction.atomic
def cancel(*, run: PaperRun, at: datetime) -> None:
    """Stop a run after the items that are being made; what is made stays."""
    PaperRun.objects.filter(pk=run.pk, canceled_at=None).update(canceled_at=at)


@transaction.atomic
def retry(*, run: PaperRun) -> int:
    """Let a run go on: what could not be made waits again, and nothing else is done anew. Return how many."""
    PaperRun.objects.filter(pk=run.pk).update(canceled_at=None)
    return run.items.filter(state=RunItem.State.NOT_MADE).update(state=RunItem.State.WAITING, says="")
