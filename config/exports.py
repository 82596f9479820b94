"""Tables as files: comma-separated (UTF-8 with its mark), or a workbook. A line of heads each; amounts stay numbers.

No text cell can act as a formula: it gets an apostrophe before it in a comma-separated file, and is marked as text in
a workbook.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet

FORMULA_BEGINS = ("=", "+", "-", "@", "\t", "\r", "\0")


def safe(cell: object) -> object:
    """Return a cell that no spreadsheet reads as a formula.

    >>> safe("=HYPERLINK(1)"), safe("Bracken"), safe("−5"), safe(-5)
    ("'=HYPERLINK(1)", 'Bracken', '−5', -5)
    """
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_BEGINS) else cell


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One table with its title: a line of heads, and rows as long as it."""

    title: str
    heads: Sequence[str]
    rows: Sequence[Sequence[object]]


def csv(*sheets: Sheet) -> bytes:
    """Return tables as the bytes of a file; amounts come as Decimals. Several stand in it figure by figure.

    >>> payers = Sheet(title="Payers", heads=("Payer", "Amount"), rows=(("@general", 5),))
    >>> csv(payers).decode("utf-8-sig")
    "Payer,Amount\\r\\n'@general,5\\r\\n"
    >>> days = Sheet(title="Days", heads=("Animal", "Ward", "Days"), rows=(("Bracken", "east", 31),))
    >>> print(csv(payers, days).decode("utf-8-sig").replace("\\r", ""), end="")
    Table,Line,What,Value
    Payers,'@general,Amount,5
    Days,Bracken,Ward,east
    Days,Bracken,Days,31
    """
    import pandas as pd

    sheet = sheets[0] if len(sheets) == 1 else _by_figure(sheets)
    frame = pd.DataFrame([[safe(cell) for cell in row] for row in sheet.rows], columns=list(sheet.heads), dtype=object)
    return frame.to_csv(index=False, lineterminator="\r\n").encode("utf-8-sig")


def _by_figure(sheets: Sequence[Sheet]) -> Sheet:
    """Several tables as one: a row for each cell, told by its table, what its line begins with, and its head."""
    rows = (
        (sheet.title, row[0], head, cell)
        for sheet in sheets
        for row in sheet.rows
        for head, cell in zip(sheet.heads[1:], row[1:], strict=True)
    )
    return Sheet(title="Figures", heads=("Table", "Line", "What", "Value"), rows=tuple(rows))


def workbook(*sheets: Sheet) -> bytes:
    """Return tables as the bytes of a workbook, a sheet for each: typed cells, its line of heads frozen.

    >>> import openpyxl
    >>> payers = Sheet(title="Payers", heads=("Payer", "Amount"), rows=(("=1+1", Decimal("5.10")),))
    >>> sheet = openpyxl.load_workbook(io.BytesIO(workbook(payers))).active
    >>> [(cell.data_type, cell.value, cell.number_format) for cell in sheet[2]], sheet.freeze_panes
    ([('s', '=1+1', 'General'), ('n', 5.1, '#,##0.00')], 'A2')
    """
    import pandas as pd

    kept = io.BytesIO()
    with pd.ExcelWriter(kept, engine="openpyxl") as writer:
        for sheet in sheets:
            frame = pd.DataFrame([list(row) for row in sheet.rows], columns=list(sheet.heads), dtype=object)
            name = "".join(letter for letter in sheet.title if letter not in "[]:*?/\\")[:31]
            frame.to_excel(writer, sheet_name=name, index=False, freeze_panes=(1, 0))
            _laid_out(writer.sheets[name])
    return kept.getvalue()


def _laid_out(sheet: Worksheet) -> None:
    from openpyxl.utils import get_column_letter

    for column, cells in enumerate(sheet.iter_cols(), start=1):
        for cell in cells[1:]:
            _typed(cell)
        widest = max(len(str(cell.value or "")) for cell in cells)
        sheet.column_dimensions[get_column_letter(column)].width = min(max(widest + 2, 9), 60)


def _typed(cell: Cell) -> None:
    """Text that looks like a formula or an error is text; an amount is written with the decimals it has."""
    if isinstance(cell.value, str):
        cell.data_type = "s"
    elif isinstance(cell.value, Decimal):
        places = max(-int(cell.value.as_tuple().exponent), 0)
        cell.number_format = "#,##0" + (f".{'0' * places}" if places else "")
