"""Runs of papers: how far each has come, and what of it needs a person."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q

from clinic.models import PaperRun, RunItem
from clinic.queries import recipients
from ledger.queries import donor_choices

SHOWN = 60


@dataclass(frozen=True, kw_only=True)
class RunRow:
    id: int
    words: str
    from_on: date
    to_on: date
    started_on: date
    items: int
    made: int
    not_made: int
    is_canceled: bool

    @property
    def left(self) -> int:
        return self.items - self.made - self.not_made

    @property
    def is_over(self) -> bool:
        return self.is_canceled or not self.left


@dataclass(frozen=True, kw_only=True)
class ItemRow:
    id: int
    whose: str
    number: str
    state: str
    says: str
    mail: str
    mail_words: str
    mail_says: str


@dataclass(frozen=True, kw_only=True)
class RunPage:
    row: RunRow
    needs: tuple[ItemRow, ...]  # not made, or with a letter about which a person must decide
    items: tuple[ItemRow, ...]
    more: int
    to_print: int
    to_mail: int
    mailed: int


def paper_runs() -> tuple[RunRow, ...]:
    """Return the runs, the newest first."""
    return tuple(_row(run) for run in _counted(PaperRun.objects.order_by("-id")[:SHOWN]))


def paper_run(*, run_id: int) -> RunPage | None:
    run = _counted(PaperRun.objects.filter(pk=run_id)).first()
    if run is None:
        return None
    asks = Q(state=RunItem.State.NOT_MADE) | Q(mail__in=(RunItem.Mail.PERHAPS, RunItem.Mail.REFUSED))
    items = run.items.select_related("partner", "paper__number").order_by("place")
    made = items.filter(state=RunItem.State.MADE)
    return RunPage(
        row=_row(run),
        needs=_items(items.filter(asks)),
        items=_items(made[:SHOWN]),
        more=max(made.count() - SHOWN, 0),
        to_print=len(recipients.printed(run=run)),
        to_mail=made.filter(mail="", mail_says="").count(),
        mailed=made.filter(mail=RunItem.Mail.SENT).count(),
    )


def _counted(runs):
    return runs.annotate(
        count=Count("items"),
        made=Count("items", filter=Q(items__state=RunItem.State.MADE)),
        not_made=Count("items", filter=Q(items__state=RunItem.State.NOT_MADE)),
    )


def _row(run) -> RunRow:
    return RunRow(
        id=run.pk,
        words=run.get_kind_display(),
        from_on=run.from_on,
        to_on=run.to_on,
        started_on=run.started_on,
        items=run.count,
        made=run.made,
        not_made=run.not_made,
        is_canceled=run.canceled_at is not None,
    )


def _items(rows: Iterable[RunItem]) -> tuple[ItemRow, ...]:
    found = list(rows)
    names = donor_choices.names(ids={item.donor_id for item in found if item.donor_id})
    return tuple(
        ItemRow(
            id=item.pk,
            whose=item.partner.name if item.partner else names.get(item.donor_id or 0, ""),
            number=str(item.paper.number) if item.paper else "",
            state=item.get_state_display(),
            says=item.says,
            mail=item.mail,
            mail_words=item.get_mail_display(),
            mail_says=item.mail_says,
        )
        for item in found
    )
