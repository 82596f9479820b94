"""When a review point is reached, and whether a decision has answered it since."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction


@dataclass(frozen=True, kw_only=True)
class Seen:
    """A fact that may be a finding: its day, its moment, and its figure (a share of the scale, an area, or none)."""

    on: date
    at: datetime
    figure: Fraction = Fraction(0)


@dataclass(frozen=True, kw_only=True)
class Answered:
    """A decision: the day it was decided for, and the moment it was written down."""

    on: date
    at: datetime


@dataclass(frozen=True, kw_only=True)
class Reached:
    on: date
    at: datetime | None = None  # the moment, where the fact has one


def by_day(*, on: date, today: date) -> Reached | None:
    return Reached(on=on) if on <= today else None


def by_operations(*, done_on: Sequence[date], number: int) -> Reached | None:
    """Return when the operation of that number had its result.

    >>> by_operations(done_on=[date(2026, 8, 20), date(2026, 9, 15)], number=2).on
    datetime.date(2026, 9, 15)
    """
    return Reached(on=sorted(done_on)[number - 1]) if 0 < number <= len(done_on) else None


def by_spending(*, running: Iterable[tuple[date, int]], limit_minor: int, held_back_minor: int) -> Reached | None:
    """Return the first day on which what was spent leaves no more than the conversion inside the limit.

    >>> running = [(date(2026, 8, 20), 95000), (date(2026, 9, 15), 250000)]
    >>> by_spending(running=running, limit_minor=400000, held_back_minor=160000).on
    datetime.date(2026, 9, 15)
    >>> by_spending(running=running, limit_minor=500000, held_back_minor=160000) is None
    True
    """
    reached = limit_minor - held_back_minor
    return next((Reached(on=on) for on, spent in running if spent >= reached), None)


def by_pain(*, scores: Iterable[Seen], line: Fraction) -> Reached | None:
    """Return the first score above the line, both as shares of their scale."""
    return next((Reached(on=one.on, at=one.at) for one in scores if one.figure > line), None)


def by_first(*, seen: Iterable[Seen]) -> Reached | None:
    """Return the first fact of a kind that is a finding whenever it is seen."""
    return next((Reached(on=one.on, at=one.at) for one in seen), None)


def by_growing_twice(*, areas: Sequence[Seen]) -> Reached | None:
    """Return the reading that is larger than the one before, which was larger than the one before it.

    >>> at = datetime(2026, 9, 1)
    >>> areas = [Seen(on=date(2026, 9, day), at=at, figure=Fraction(area)) for day, area in ((1, 9), (8, 10), (15, 11))]
    >>> by_growing_twice(areas=areas).on
    datetime.date(2026, 9, 15)
    """
    for first, second, third in zip(areas, areas[1:], areas[2:], strict=False):
        if first.figure < second.figure < third.figure:
            return Reached(on=third.on, at=third.at)
    return None


def is_answered(*, reached: Reached, set_at: datetime, decisions: Iterable[Answered]) -> bool:
    """Say whether a decision came after the point was set, and on or after the day on which it was reached."""
    return any(
        one.at > set_at and (one.on > reached.on or (one.on == reached.on and (not reached.at or one.at >= reached.at)))
        for one in decisions
    )
