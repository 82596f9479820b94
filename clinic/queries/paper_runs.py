"""Runs of papers: how far each has come, what of it needs a person, how many go which way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q

from clinic.models import PaperRun, RunItem
from clinic.queries import recipients
from clinic.queries.run_items import ASKS, ItemRow, item_rows
from clinic.queries.standing_papers import last_papers, stands
from config import charts

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
class RunPage:
    row: RunRow
    needs: tuple[ItemRow, ...]  # not made, or with a letter about which a person must decide
    items: tuple[ItemRow, ...]
    more: int
    to_print: int
    to_mail: int
    both: int  # of those to print, how many go by e-mail too
    progress: charts.Chart


def paper_runs() -> tuple[RunRow, ...]:
    """Return the runs, the newest first."""
    return tuple(_row(run) for run in _counted(PaperRun.objects.order_by("-id")[:SHOWN]))


def paper_run(*, run_id: int) -> RunPage | None:
    run = _counted(PaperRun.objects.filter(pk=run_id)).first()
    if run is None:
        return None
    items = run.items.select_related("partner", "paper__number").order_by("place")
    made = items.filter(state=RunItem.State.MADE)
    to_print, to_mail = _ways(run)
    row = _row(run)
    return RunPage(
        row=row,
        needs=item_rows(items=items.filter(Q(state=RunItem.State.NOT_MADE) | Q(mail__in=ASKS))),
        items=item_rows(items=made[:SHOWN]),
        more=max(made.count() - SHOWN, 0),
        to_print=len(to_print),
        to_mail=len(to_mail),
        both=len(to_print & to_mail),
        progress=_progress(row, states=items.values_list("state", flat=True)),
    )


def _progress(row: RunRow, *, states: Iterable[str]) -> charts.Chart:
    known: dict[str, bool] = {RunItem.State.MADE: True, RunItem.State.NOT_MADE: False}
    pieces = [known.get(state) for state in states]
    return charts.strokes(name=f"run-{row.id}", title=f"{row.made} of {row.items} made", pieces=pieces, word="paper")


def _ways(run: PaperRun) -> tuple[set[int], set[int]]:
    """Return the items whose paper stands and is printed, and those whose letter is still to be sent."""
    items = list(recipients.made(run=run))
    last, how = last_papers(ids=[item.paper_id for item in items]), recipients.recipients(items=items)
    standing = [(item, how[item.pk]) for item in items if stands(last[item.paper_id])]
    return (
        {item.pk for item, contact in standing if recipients.is_printed(item, contact)},
        {item.pk for item, contact in standing if recipients.is_to_mail(item, contact)},
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
