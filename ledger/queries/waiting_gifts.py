"""Gifts that wait: each row with what hinders it now, since when, and from which file."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import Exists, Max, OuterRef, QuerySet

from config import home, tables
from ledger.models import Entry, WaitingGift
from ledger.queries import gift_files
from ledger.queries.gift_files import Preview
from ledger.queries.judged_gifts import Judged

LEFT_OUT = 20  # on a page


@dataclass(frozen=True, kw_only=True)
class WaitingLine:
    """A row that waits. `stands` where nothing hinders it any more; `is_closed` where its day alone does."""

    waiting_id: int
    file_id: int
    file_name: str
    source: str
    line: int
    since_on: date
    kept_by: str
    sentence: str
    said: str
    judged: Judged | None
    is_closed: bool

    @property
    def stands(self) -> bool:
        return self.judged is not None and not self.is_closed


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    file_id: int
    file_name: str
    line: int
    on: date
    by: str
    why: str


def count() -> int:
    return _still().count()


def latest() -> int:
    """Return the latest row that waits, zero where none does."""
    return _still().aggregate(latest=Max("id"))["latest"] or 0


def still(*, file_id: int, lines: Collection[int]) -> int:
    """Return how many of these lines of a file wait."""
    return _still().filter(file=file_id, line__in=list(lines)).count()


def waiting_gifts(*, today: date) -> tuple[WaitingLine, ...]:
    """Return the rows that wait, the oldest first."""
    rows = _still().select_related("file__source").order_by("since_on", "file_id", "line")
    lines: list[WaitingLine] = []
    for _, group in groupby(rows, key=lambda row: row.file_id):
        lines += _of_file(list(group), today)
    return tuple(lines)


def waiting_gift(*, waiting_id: int, today: date) -> WaitingLine | None:
    rows = list(_still().filter(id=waiting_id).select_related("file__source"))
    return next(iter(_of_file(rows, today)), None) if rows else None


def left_out() -> tuple[LeftOut, ...]:
    """Return what was left out, the latest first."""
    rows = WaitingGift.objects.filter(left_out_on__isnull=False).select_related("file").order_by("-left_out_on", "-id")
    return tuple(
        LeftOut(
            file_id=row.file_id,
            file_name=row.file.name,
            line=row.line,
            on=row.left_out_on,
            by=home.person(row.left_out_by),
            why=row.left_out_why,
        )
        for row in rows[:LEFT_OUT]
    )


def judged(*, row: WaitingGift, today: date, late: bool) -> tuple[Judged | None, str]:
    """Return what a row would become now, or why it cannot; `late` books it today, its day received kept."""
    found = _preview([row], today, booked_on=today if late else None)
    one = next((one for one in found.rows if one.row.line == row.line), None)
    return one, "" if one else _sentence(found, row)


def _still() -> QuerySet[WaitingGift]:
    """A row waits until the books have an entry of its key, or somebody leaves it out."""
    return WaitingGift.objects.filter(~Exists(Entry.objects.filter(key=OuterRef("key"))), left_out_on=None)


def _of_file(rows: list[WaitingGift], today: date) -> list[WaitingLine]:
    now, late = _preview(rows, today), _preview(rows, today, booked_on=today)
    stands = {one.row.line: one for one in now.rows}
    said = {one.line: one for one in now.wrong}
    closed = {one.row.line: one for one in late.rows if one.row.line not in stands}
    return [
        WaitingLine(
            waiting_id=row.pk,
            file_id=row.file_id,
            file_name=row.file.name,
            source=row.file.source.name,
            line=row.line,
            since_on=row.since_on,
            kept_by=home.person(row.kept_by),
            sentence="" if row.line in stands else _sentence(now, row),
            said=said[row.line].said if row.line in said else "",
            judged=stands.get(row.line) or closed.get(row.line),
            is_closed=row.line in closed,
        )
        for row in rows
    ]


def _preview(rows: list[WaitingGift], today: date, booked_on: date | None = None) -> Preview:
    file, only = rows[0].file, frozenset(row.line for row in rows)
    try:
        table = gift_files.table_of(file)
    except tables.TableRefused as refused:
        return Preview(obstacle=str(refused), reading=None, rows=(), wrong=())
    return gift_files.preview(file=file, table=table, today=today, only=only, booked_on=booked_on)


def _sentence(found: Preview, row: WaitingGift) -> str:
    told = next((one.sentence for one in found.wrong if one.line == row.line), "")
    return told or found.obstacle or "Its file no longer has this row."
