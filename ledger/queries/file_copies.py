"""The kept copies of gift files, and the same without one person."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from config import tables
from ledger.formulas import erasing
from ledger.formulas.erasing import Person
from ledger.models import Gift, GiftFile
from ledger.queries import gift_files, waiting_gifts

KEPT = (
    "on",
    "gross",
    "fee",
    "net",
    "reference",
    "original",
    "fund",
    "kind",
    "often",
)  # money and what a row is known by


@dataclass(frozen=True, kw_only=True)
class BlankedCopy:
    """A file's copy without a person: its bytes, how many rows lose cells, and the lines of gifts that are recorded."""

    file_id: int
    before: str  # the file's name as it is
    name: str  # the same without the person
    content: bytes
    rows: int
    lines: tuple[int, ...]
    waits: int  # rows of theirs that wait to be recorded


def blanked_copies(*, ids: tuple[int, ...], who: Person, today: date) -> Iterator[BlankedCopy]:
    """Return the copy without a person of each file that names them."""
    for file in GiftFile.objects.select_related("source").order_by("id"):
        try:
            table = gift_files.table_of(file)
        except tables.TableRefused:
            continue  # the copy is gone or no table: there is nobody in it
        if made := _blanked(file, table, ids, who, today):
            yield made


@dataclass(frozen=True, kw_only=True)
class RowAbout:
    name: str
    brought_on: date
    line: int
    cells: str


def rows_about(*, ids: tuple[int, ...], who: Person, today: date) -> Iterator[RowAbout]:
    """Return what the kept copies of gift files say about a donor, row by row."""
    for file in GiftFile.objects.select_related("source").order_by("id"):
        try:
            table = gift_files.table_of(file)
        except tables.TableRefused:
            continue
        for row in table.above:
            if any(who.is_told_by(cell) for cell in row.cells):
                cells = "; ".join(cell for cell in row.cells if cell)
                yield RowAbout(name=file.name, brought_on=file.brought_at.date(), line=row.line, cells=cells)
        _, theirs = _lines_of(file, table, ids, today)
        for row in table.rows:
            if row.line in theirs or any(who.is_told_by(cell) for cell in row.cells):
                said = zip(table.heads, row.cells, strict=True)
                cells = "; ".join(f"{head}: {cell}" for head, cell in said if cell)
                yield RowAbout(name=file.name, brought_on=file.brought_at.date(), line=row.line, cells=cells)


def _blanked(file: GiftFile, table: tables.Table, ids: tuple[int, ...], who: Person, today: date) -> BlankedCopy | None:
    recorded, theirs = _lines_of(file, table, ids, today)
    columns = gift_files.columns_of(file.source, table)
    keeps = frozenset(columns[meaning] for meaning in KEPT if meaning in columns)
    names = [columns[meaning] for meaning in ("name", "email") if meaning in columns]
    above = {row.line: erasing.blanked(row.cells, who=who, keeps=keeps, is_theirs=False) for row in table.above}
    rows, changed = {}, sum(above[row.line] != row.cells for row in table.above)
    for row in table.rows:
        if row.line not in theirs and any(who.is_told_by(row.cells[place]) for place in names):
            theirs.add(row.line)
        cells = erasing.blanked(row.cells, who=who, keeps=keeps, is_theirs=row.line in theirs)
        changed += cells != row.cells
        rows[row.line] = cells
    if not changed:
        return None
    return BlankedCopy(
        file_id=file.pk,
        before=file.name,
        name=who.masked(file.name),
        content=_written({**above, table.heads_line: table.heads, **rows}),
        rows=changed,
        lines=tuple(sorted({*file.blanked, *recorded})),
        waits=waiting_gifts.still(file_id=file.pk, lines=theirs),
    )


def _lines_of(file: GiftFile, table: tables.Table, ids: tuple[int, ...], today: date) -> tuple[set[int], set[int]]:
    """Return the lines of gifts of a donor that are recorded, and all that they gave by the books or by a row."""
    rows = gift_files.preview(file=file, table=table, today=today).rows
    keys = set(Gift.objects.filter(donor__in=ids).values_list("entry__key", flat=True))
    recorded = {one.row.line for one in rows if one.key in keys or one.is_known and one.gift_key in keys}
    return recorded, recorded | {one.row.line for one in rows if one.gift_key in keys or one.donor_id in ids}


def _written(rows: dict[int, tuple[str, ...]]) -> bytes:
    """Write a table so that each row stands on the line on which it stood."""
    text = io.StringIO()
    writer = csv.writer(text)
    for line in range(1, max(rows) + 1):
        writer.writerow(rows.get(line, ()))
    return text.getvalue().encode("utf-8-sig")


def is_free(*, sha256: str) -> bool:
    """Whether no file that was brought needs the bytes of this digest any more."""
    return (
        not GiftFile.objects.filter(sha256=sha256, copy_sha256="").exists()
        and not GiftFile.objects.filter(copy_sha256=sha256).exists()
    )


def kept_as(*, file_id: int) -> tuple[str, str]:
    """Return under which digest and as what a file's copy is kept now."""
    return gift_files.kept_as(GiftFile.objects.get(id=file_id))
