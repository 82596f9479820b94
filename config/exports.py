"""Tables as files: comma-separated (UTF-8 with its mark), or a workbook. One line of heads; amounts stay numbers.

No text cell can act as a formula: it gets an apostrophe before it in a comma-separated file, and is marked as text in
a workbook.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell

FORMULA_BEGINS = ("=", "+", "-", "@", "\t", "\r", "\0")


def safe(cell: object) -> object:
    """Return a cell that no spreadsheet reads as a formula.

    >>> safe("=HYPERLINK(1)"), safe("Bracken"), safe("−5"), safe(-5)
    ("'=HYPERLINK(1)", 'Bracken', '−5', -5)
    """
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_BEGINS) else cell


def csv(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """Return a table as the bytes of a file; amounts come as Decimals.

    >>> csv(["Payer", "Amount"], [["@general", 5]]).decode("utf-8-sig")
    "Payer,Amount\\r\\n'@general,5\\r\\n"
    """
    import pandas as pd

    frame = pd.DataFrame([[safe(cell) for cell in row] for row in rows], columns=list(heads), dtype=object)
    return frame.to_csv(index=False, lineterminator="\r\n").encode("utf-8-sig")


def workbook(heads: Sequence[str], rows: Iterable[Sequence[object]], *, title: str) -> bytes:
    """Return a table as the bytes of a workbook with one sheet: typed cells, its line of heads frozen.

    >>> import openpyxl
    >>> sheet = openpyxl.load_workbook(io.BytesIO(workbook(["Payer", "Amount"], [["=1+1", Decimal("5.10")]],
    ...     title="Payers"))).active
    >>> [(cell.data_type, cell.value, cell.number_format) for cell in sheet[2]], sheet.freeze_panes
    ([('s', '=1+1', 'General'), ('n', 5.1, '#,##0.00')], 'A2')
    """
    import pandas as pd
    from openpyxl.utils import get_column_letter

    frame = pd.DataFrame([list(row) for row in rows], columns=list(heads), dtype=object)
    kept = io.BytesIO()
    with pd.ExcelWriter(kept, engine="openpyxl") as writer:
        name = "".join(letter for letter in title if letter not in "[]:*?/\\")[:31]
        frame.to_excel(writer, sheet_name=name, index=False, freeze_panes=(1, 0))
        sheet = writer.sheets[name]
        for column, cells in enumerate(sheet.iter_cols(), start=1):
            for cell in cells[1:]:
                _typed(cell)
            widest = max(len(str(cell.value or "")) for cell in cells)
            sheet.column_dimensions[get_column_letter(column)].width = min(max(widest + 2, 9), 60)
    return kept.getvalue()


def _typed(cell: Cell) -> None:
    """Text that looks like a formula or an error is text; an amount is written with the decimals it has."""
    if isinstance(cell.value, str):
        cell.data_type = "s"
    elif isinstance(cell.value, Decimal):
        places = max(-int(cell.value.as_tuple().exponent), 0)
        cell.number_format = "#,##0" + (f".{'0' * places}" if places else "")
