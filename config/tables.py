"""Tables that people bring, comma-separated or as a workbook: every cell as the words that stand in it, or a refusal.

TableRefused
├── TableTooLarge     more bytes, cells or columns than a table of this house has
├── TableUnknown      neither a comma-separated file nor a workbook
├── TableBroken       it says what it is, and cannot be read
├── FormulaInTable    a cell that computes: what it shows is not what it says
├── HeadsUnknown      which line holds the heads of the columns cannot be told
└── TableEmpty        no line of heads, or nothing under it
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from itertools import islice
from typing import Any

from config import table_heads, uploads
from config.refusal import Refusal
from config.table_heads import HeadsUnclear, Knows

MOST_BYTES = 40 * 1024 * 1024
MOST_UNPACKED = 100 * 1024 * 1024  # the words that a workbook shares take seven times their size in memory
MOST_ROWS = 200_000
MOST_COLUMNS = 200
MOST_CELLS = 4_000_000  # so that the fullest table stays far below a GiB of memory
PACKED = b"PK"  # how a workbook begins
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
FIRST_WORDS = 40_000  # in which the separator is looked for


class TableRefused(Refusal):
    field = "file"


class TableTooLarge(TableRefused):
    def __init__(self) -> None:
        super().__init__("The file is larger than any list here can be. Nothing was read. Take out a shorter period.")


class TableUnknown(TableRefused):
    def __init__(self) -> None:
        super().__init__("This is neither a comma-separated file nor an XLSX workbook. Nothing was read.")


class TableBroken(TableRefused):
    def __init__(self) -> None:
        super().__init__("The file cannot be read: it is broken or locked. Nothing was read. Take it out once more.")


class FormulaInTable(TableRefused):
    def __init__(self, line: int) -> None:
        super().__init__(
            f"Line {line} has a cell that computes. Nothing was read. Save the sheet with values only, choose it again."
        )


class HeadsUnknown(TableRefused):
    def __init__(self, lines: Sequence[int] = ()) -> None:
        told = f"Lines {lines[0]} and {lines[1]} may both be" if len(lines) > 1 else "No line is clearly"
        super().__init__(
            f"{told} the heads of the columns. Nothing was read. Leave one line of heads at the top of the file, and "
            "choose it again."
        )


class TableEmpty(TableRefused):
    def __init__(self) -> None:
        super().__init__("The file has no line of heads with rows under it. Nothing was read.")


@dataclass(frozen=True, kw_only=True)
class Row:
    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Table:
    """Heads without blanks around them, rows as long as the heads; `read_as` says how the bytes were read.

    What stands `above` the heads is kept as it is, each line with its own cells.
    """

    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    read_as: str
    heads_line: int = 1
    above: tuple[Row, ...] = ()


def read(content: bytes, knows: Sequence[Knows] = ()) -> Table:
    """Return the first table of a file; `knows` say by which heads its columns are known.

    :raises TableRefused: as the tree above says; never half a table.
    """
    if len(content) > MOST_BYTES:
        raise TableTooLarge
    if content[:2] == PACKED:
        return _workbook(content, knows)
    return _separated(content, knows)


def kind_of(content: bytes) -> str:
    """Return the content type under which a table is kept."""
    return uploads.XLSX if content[:2] == PACKED else uploads.CSV


def _separated(content: bytes, knows: Sequence[Knows]) -> Table:
    text, encoding = _decoded(content)
    if "\0" in text:
        raise TableUnknown
    csv.field_size_limit(100_000)
    separator = _separator(text[:FIRST_WORDS], knows)
    try:
        found = _bounded(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        raise TableBroken from None
    return _table(found, f"{encoding}, separated by {SEPARATORS[separator]}", knows)


def _decoded(content: bytes) -> tuple[str, str]:
    """UTF-8 where it is, UTF-16 where its mark says so, else Western European, which every byte is."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return content.decode("utf-16"), "UTF-16"
        except UnicodeDecodeError:
            raise TableBroken from None
    try:
        return content.decode("utf-8-sig"), "UTF-8"
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace"), "Windows-1252"


def _separator(text: str, knows: Sequence[Knows]) -> str:
    """The mark by which a line names the columns, else the one that parts most heads, else the first line's."""
    first = text.split("\n", 1)[0]
    return max(SEPARATORS, key=lambda mark: (*_heads_by(mark, text, knows), first.count(mark)))


def _heads_by(mark: str, text: str, knows: Sequence[Knows]) -> tuple[bool, int]:
    rows = list(_filled_rows(mark, text))
    try:
        found = table_heads.known(rows, knows)
    except HeadsUnclear:
        return True, 0
    place = table_heads.leading(rows) if found is None else found
    return found is not None, 0 if place is None else len(rows[place])


def _filled_rows(mark: str, text: str) -> Iterator[list[str]]:
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    try:
        yield from (row for row in islice(lines, 2 * table_heads.MOST_ABOVE) if any(cell.strip() for cell in row))
    except csv.Error:
        return


def _workbook(content: bytes, knows: Sequence[Knows]) -> Table:
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            if sum(part.file_size for part in packed.infolist()) > MOST_UNPACKED:
                raise TableTooLarge
            if "xl/workbook.xml" not in packed.namelist():
                raise TableUnknown
        sheet = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=False).worksheets[0]
        found = _bounded(_cells(number, row) for number, row in enumerate(sheet.iter_rows(), start=1))
    except TableRefused:
        raise
    except Exception:  # noqa: BLE001  a broken workbook fails in any of its parts; nothing was written
        raise TableBroken from None
    return _table(found, "workbook", knows)


def _bounded(rows: Iterable[list[str]]) -> list[list[str]]:
    """Return rows as long as there are not too many of them, or of their cells; a blank line counts."""
    found: list[list[str]] = []
    cells = 0
    for row in rows:
        found.append(row)
        cells += len(row)
        if len(found) > MOST_ROWS + 1 or cells > MOST_CELLS:
            raise TableTooLarge
    return found


def _cells(number: int, row: Sequence[Any]) -> list[str]:
    filled = [place for place, cell in enumerate(row, start=1) if cell.value is not None]
    if any(cell.data_type == "f" for cell in row):
        raise FormulaInTable(number)
    return [_words(cell.value) for cell in row[: filled[-1]]] if filled else []


def _words(value: object) -> str:
    """Write a cell as it would be typed.

    >>> [_words(value) for value in (None, "NA", 12.5, 3.0, True, date(2026, 10, 1), datetime(2026, 10, 1, 9, 30))]
    ['', 'NA', '12.5', '3', 'yes', '2026-10-01', '2026-10-01']
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, (date, time)):
        return value.isoformat()
    if isinstance(value, float):
        return f"{Decimal(repr(value)).normalize():f}"
    if "\0" in (words := str(value)):
        raise TableBroken
    return words


def _table(found: list[list[str]], read_as: str, knows: Sequence[Knows]) -> Table:
    filled = [(line, cells) for line, cells in enumerate(found, start=1) if any(cell.strip() for cell in cells)]
    if len(filled) < 2:
        raise TableEmpty
    if len(filled) > MOST_ROWS:
        raise TableTooLarge
    place = _place([cells for _, cells in filled], [line for line, _ in filled], knows)
    heads = [head.strip() for head in filled[place][1]]
    while not heads[-1]:
        heads.pop()
    if len(heads) > MOST_COLUMNS:
        raise TableTooLarge
    if place + 1 == len(filled):
        raise TableEmpty
    return Table(
        heads=tuple(heads),
        rows=tuple(Row(line=line, cells=_fitted(cells, len(heads))) for line, cells in filled[place + 1 :]),
        read_as=read_as,
        heads_line=filled[place][0],
        above=tuple(Row(line=line, cells=tuple(cell.strip() for cell in cells)) for line, cells in filled[:place]),
    )


def _place(rows: list[list[str]], lines: list[int], knows: Sequence[Knows]) -> int:
    shown = [[cell.strip() for cell in cells] for cells in rows[: 2 * table_heads.MOST_ABOVE]]
    try:
        return table_heads.place_of(shown, knows)
    except HeadsUnclear as unclear:
        raise HeadsUnknown([lines[place] for place in unclear.places]) from None


def _fitted(cells: list[str], width: int) -> tuple[str, ...]:
    """Cells as many as heads; what stands beyond the last head is kept in the last cell, so that nothing is lost."""
    kept = [cell.strip() for cell in cells]
    beyond = " ".join(cell for cell in kept[width:] if cell)
    kept = kept[:width] + [""] * (width - len(kept))
    return (*kept[:-1], f"{kept[-1]} {beyond}".strip()) if beyond else tuple(kept)
