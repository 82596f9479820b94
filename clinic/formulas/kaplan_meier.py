"""How long until something happens, with the cases that are still open, or ended otherwise, counted as such."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction


class BelowZero(ValueError):
    """A time below zero."""


@dataclass(frozen=True, kw_only=True)
class Drop:
    """A time at which it happened to some of those still waiting; `still` is the share waiting after it."""

    time: int
    waiting: int
    happened: int
    still: Fraction


@dataclass(frozen=True, kw_only=True)
class Curve:
    cases: int
    open: int  # cases to which it had not happened when last seen
    drops: tuple[Drop, ...]

    @property
    def median(self) -> int | None:
        """Return the first time at which half or fewer still wait; None where it is not reached."""
        return next((drop.time for drop in self.drops if drop.still <= Fraction(1, 2)), None)

    def still_at(self, time: int) -> Fraction:
        """Return the share still waiting after a time."""
        return next((drop.still for drop in reversed(self.drops) if drop.time <= time), Fraction(1))


def curve(*, cases: Iterable[tuple[int, bool]]) -> Curve:
    """Return the curve of (time, whether it happened then); a case that only ends then still counts as waiting.

    >>> found = curve(cases=[(6, True), (6, True), (6, False), (10, True)])
    >>> [(drop.time, drop.waiting, str(drop.still)) for drop in found.drops], found.median
    ([(6, 4, '1/2'), (10, 1, '0')], 6)
    >>> print(curve(cases=[(6, False)]).median)
    None

    :raises BelowZero: when a time lies below zero.
    """
    known = list(cases)
    if any(time < 0 for time, _ in known):
        raise BelowZero("A time lies below zero.")
    seen = Counter(time for time, _ in known)
    happened = Counter(time for time, it_did in known if it_did)
    waiting, still, drops = len(known), Fraction(1), []
    for time in sorted(seen):
        if happened[time]:
            still *= 1 - Fraction(happened[time], waiting)
            drops.append(Drop(time=time, waiting=waiting, happened=happened[time], still=still))
        waiting -= seen[time]
    return Curve(cases=len(known), open=len(known) - sum(happened.values()), drops=tuple(drops))
