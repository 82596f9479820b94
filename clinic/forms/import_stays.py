"""Reads a file of stays into clean rows: one sentence for a file that is none, one for each line that is wrong."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from clinic.forms import json_text, stay_row
from clinic.formulas.import_stays import Remark, StayRow

BYTES_MOST = 50_000_000


class BadStaysFile(ValueError):
    """The file holds no stays that can be read; the message is one sentence."""


@dataclass(frozen=True, kw_only=True)
class StaysFile:
    """A file's rows, the lines that are wrong, and the birth dates that were set aside."""

    name: str
    content: bytes
    sha256: str
    count: int
    rows: tuple[StayRow, ...]
    wrong: tuple[Remark, ...]
    warnings: tuple[Remark, ...]


def read_file(*, path: Path, today: date) -> StaysFile:
    """Read a CSV file of stays; its size is looked at before it is opened.

    :raises BadStaysFile: when it is missing, too large, not UTF-8, not CSV, or has other columns.
    """
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        raise BadStaysFile(f"There is no file {path}.") from None
    except (OSError, ValueError):
        raise BadStaysFile(f"The file {path} cannot be read.") from None
    if size > BYTES_MOST:
        raise BadStaysFile(
            f"The file {path} has {size:,} bytes, and at most {BYTES_MOST:,} are read; nothing was written."
        )
    try:
        content = json_text.read_bytes(path=path, most=BYTES_MOST)
    except json_text.Unreadable as obstacle:
        raise BadStaysFile(str(obstacle)) from None
    return read_content(content=content, name=path.name, today=today)


def read_content(*, content: bytes, name: str, today: date) -> StaysFile:
    """Read the bytes of a CSV file of stays.

    :raises BadStaysFile: when they are not UTF-8, not CSV, or have other columns.
    """
    rows: list[StayRow] = []
    wrong: list[Remark] = []
    warnings: list[Remark] = []
    for line, cells, fits in _lines(_text(content)):
        try:
            if not fits:
                raise stay_row.BadLine(f"The row has {len(cells)} cells, other than the first line.")
            row, warning = stay_row.read(line=line, cells=cells, today=today)
        except stay_row.BadLine as obstacle:
            wrong.append(Remark(line=line, cells=tuple(cells), sentence=f"{obstacle}"))
            continue
        rows.append(row)
        if warning:
            warnings.append(Remark(line=line, cells=row.cells, sentence=warning))
    return StaysFile(
        name=name,
        content=content,
        sha256=hashlib.sha256(content).hexdigest(),
        count=len(rows) + len(wrong),
        rows=tuple(rows),
        wrong=tuple(wrong),
        warnings=tuple(warnings),
    )


def _text(content: bytes) -> str:
    if b"\0" in content:
        raise BadStaysFile("The file is not text: it has NUL bytes. Save it as CSV in UTF-8; nothing was written.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadStaysFile("The file is not text in UTF-8. Save it as CSV in UTF-8; nothing was written.") from None


def _lines(text: str) -> Iterator[tuple[int, list[str], bool]]:
    """Give each row's first line, its cells in the order of the columns, and whether there are as many as named."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        header = [name.strip() for name in next(reader, [])]
        places = _places(header)
        line = reader.line_num + 1
        for cells in reader:
            if cells:
                fits = len(cells) == len(header)
                yield line, [cells[place] for place in places] if fits else cells, fits
            line = reader.line_num + 1
    except csv.Error as obstacle:
        raise BadStaysFile(f"The file is not CSV at line {reader.line_num}: {obstacle}; nothing was written.") from None


def _places(header: list[str]) -> list[int]:
    missing = [name for name in stay_row.COLUMNS if name not in header]
    if missing:
        columns = "column" if len(missing) == 1 else "columns"
        raise BadStaysFile(
            f"The file is not a CSV of stays: the {columns} {', '.join(missing)} "
            f"{'is' if len(missing) == 1 else 'are'} missing in its first line; nothing was written."
        )
    twice = next((name for name in stay_row.COLUMNS if header.count(name) > 1), "")
    if twice:
        raise BadStaysFile(f"The column {twice} is there twice, so nothing was read.")
    return [header.index(name) for name in stay_row.COLUMNS]
