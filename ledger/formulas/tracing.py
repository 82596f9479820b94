"""Traces spending to the money that came in: the oldest unspent pays first, and what is given back goes home.

In each fund money waits in one line by date received (first in, first out). A use is judged once, when it is
posted; what becomes known later never reshuffles it. Giving back walks the uses from the latest to the
earliest, so that a part given back leaves the oldest uses standing.
"""

from collections.abc import Iterable
from typing import TypeVar

Key = TypeVar("Key")


def oldest_first(amount_minor: int, waiting: Iterable[tuple[Key, int]]) -> tuple[list[tuple[Key, int]], int]:
    """Take `amount_minor` from `waiting` (oldest first, each with what is left of it).

    Return what was taken from each, and the amount for which no money was left.

    >>> oldest_first(3000, [("G", 2880), ("H", 5000)])
    ([('G', 2880), ('H', 120)], 0)
    >>> oldest_first(3000, [("G", 2880)])
    ([('G', 2880)], 120)
    """
    taken, missing = [], amount_minor
    for key, left in waiting:
        if missing == 0:
            break
        part = min(left, missing)
        if part:
            taken.append((key, part))
            missing -= part
    return taken, missing


def latest_back(amount_minor: int, used: Iterable[tuple[Key, int]]) -> list[tuple[Key, int]]:
    """Give `amount_minor` back to what was `used` (earliest first), beginning with the latest use.

    >>> latest_back(400, [("G", 480), ("H", 286)])
    [('H', 286), ('G', 114)]

    :raises ValueError: when more is given back than was used.
    """
    back, missing = oldest_first(amount_minor, reversed(list(used)))
    if missing:
        raise ValueError("More would be given back than was used.")
    return back
