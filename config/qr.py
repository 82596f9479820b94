"""A code that a camera reads, as strokes that a page or a paper draws."""

from dataclasses import dataclass

import segno

QUIET = 4  # empty modules around the code, by its standard (ISO/IEC 18004)


@dataclass(frozen=True)
class Code:
    size: int  # of the drawing, in modules, the quiet edge included
    path: str  # of an svg: each dark run of a row is one stroke


def code(text: str) -> Code:
    """Draw a text as a code that is still read with a seventh of it dirty (level M).

    >>> drawn = code("https://larkweir.example/animals/7/row/")
    >>> drawn.size, drawn.path[:14]
    (37, 'M4 4.5h7M12 4.')
    """
    rows = [bytes(row) for row in segno.make(text, error="m", micro=False, boost_error=False).matrix]
    strokes = [
        f"M{start + QUIET} {at + QUIET}.5h{length}" for at, row in enumerate(rows) for start, length in _runs(row)
    ]
    return Code(size=len(rows) + 2 * QUIET, path="".join(strokes))


def _runs(row: bytes) -> list[tuple[int, int]]:
    """Return where dark modules begin and how many follow each other."""
    starts = [at for at, dark in enumerate(row) if dark and not (at and row[at - 1])]
    return [
        (start, next((at for at, dark in enumerate(row[start:]) if not dark), len(row) - start)) for start in starts
    ]
