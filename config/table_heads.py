"""Which line of a table holds the heads of its columns, where others stand above it.

A line that names what is looked for is taken before one that only looks like heads; where two lines could be, nobody
guesses.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice

Cells = Sequence[str]
Knows = Callable[[Cells], bool]  # whether a line names the columns that are looked for

MOST_ABOVE = 40  # lines among which the heads are looked for
LETTERS_IN_A_DAY = 3  # "14 Oct 2026"


class HeadsUnclear(ValueError):
    """Two lines could be the heads, or none; `places` are those of the lines."""

    def __init__(self, places: Sequence[int] = ()) -> None:
        super().__init__()
        self.places = tuple(places)


def place_of(rows: Sequence[Cells], knows: Sequence[Knows] = ()) -> int:
    """Return the place of the heads among lines of which none is blank; `knows` are asked one after the other.

    >>> rows = [["Account", "LARK 0007"], ["Day", "Who", "Moved"], ["2026-10-01", "Vane", "12.00"]]
    >>> place_of(rows), place_of(rows, [lambda cells: "Who" in cells])
    (1, 1)
    >>> place_of([["Day", "Who"], ["2026-10-01", "Vane"]])
    0

    :raises HeadsUnclear: where it cannot be told.
    """
    found = known(rows, knows)
    if found is None:
        found = leading(rows)
    if found is None and not _is_narrow(rows):
        found = 0
    if found is None:
        raise HeadsUnclear
    return found


def known(rows: Sequence[Cells], knows: Sequence[Knows]) -> int | None:
    """Return the place of the one line that names the columns; the same line again, on a further leaf, is the same.

    :raises HeadsUnclear: where different lines do.
    """
    there = [place for place, cells in enumerate(rows[:MOST_ABOVE]) if _may_be_heads(cells)]
    for names in knows:
        places = [place for place in there if names(rows[place])]
        if len({tuple(rows[place]) for place in places}) > 1:
            raise HeadsUnclear(places)
        if places:
            return places[0]
    return None


def leading(rows: Sequence[Cells]) -> int | None:
    """Return the place of the first line without a figure under which most lines have one and are no wider."""
    for place, cells in enumerate(rows[:MOST_ABOVE]):
        under = list(islice(rows, place + 1, place + 1 + MOST_ABOVE))
        follow = sum(any(map(is_figure, one)) and _filled(one) <= _filled(cells) for one in under)
        if _may_be_heads(cells) and 2 * follow > len(under):
            return place
    return None


def is_figure(cell: str) -> bool:
    """Say whether a cell may be a day, an amount or a number, and so is no head.

    >>> [is_figure(cell) for cell in ("2026-10-01", "14 Oct 2026", "1,204.55 USD", "Fee 2", "Date", "LARK 0007")]
    [True, True, True, False, False, False]
    """
    digits, letters = sum(map(str.isdigit, cell)), sum(map(str.isalpha, cell))
    return letters <= LETTERS_IN_A_DAY and digits > 0 and digits >= letters


def _may_be_heads(cells: Cells) -> bool:
    return _filled(cells) > 1 and not any(map(is_figure, cells))


def _is_narrow(rows: Sequence[Cells]) -> bool:
    """Whether the first line has fewer cells than most under it: then it is hardly their heads."""
    widths = sorted(_filled(cells) for cells in rows[1 : 1 + MOST_ABOVE])
    return bool(widths) and _filled(rows[0]) < widths[len(widths) // 2]


def _filled(cells: Cells) -> int:
    return sum(bool(cell.strip()) for cell in cells)
