"""Tables as files for a spreadsheet: comma-separated, UTF-8 with its mark, one line of heads.

A text cell that a spreadsheet would take for a formula gets an apostrophe before it; amounts stay numbers.
"""

from collections.abc import Iterable, Sequence

import pandas as pd

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
    frame = pd.DataFrame([[safe(cell) for cell in row] for row in rows], columns=list(heads), dtype=object)
    return frame.to_csv(index=False, lineterminator="\r\n").encode("utf-8-sig")
