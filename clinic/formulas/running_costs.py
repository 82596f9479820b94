"""Two running lines over the days: what a path has come to, and what the single procedure would have come to.

Both begin on the day on which the ways part; care from before stands apart and is counted in neither.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from ledger.formulas import money

Points = tuple[tuple[date, int], ...]


@dataclass(frozen=True, kw_only=True)
class FrozenSingle:
    """The single procedure as it stood when the ways parted, in minor units; a day may cost a part of one."""

    procedure_minor: Fraction
    daily_minor: Fraction
    days: int
    complication_minor: Fraction = Fraction(0)  # its cost at its chance, counted on the last day


def single_line(*, single: FrozenSingle, parted_on: date, until: date) -> Points:
    """Return what the single procedure would have come to at the end of each day on which it changed.

    >>> amputation = FrozenSingle(procedure_minor=Fraction(150000), daily_minor=Fraction(3600), days=3,
    ...                           complication_minor=Fraction(1960))
    >>> for day, amount in single_line(single=amputation, parted_on=date(2026, 8, 20), until=date(2026, 10, 13)):
    ...     print(day, amount)
    2026-08-20 153600
    2026-08-21 157200
    2026-08-22 162760
    2026-10-13 162760
    """
    points, last = [], max(single.days - 1, 0)
    for number in range(last + 1):
        day = parted_on + timedelta(days=number)
        if day > until:
            break
        so_far = single.procedure_minor + min(number + 1, single.days) * single.daily_minor
        so_far += single.complication_minor if number == last else 0
        points.append((day, money.half_up(so_far)))
    return _run_on(tuple(points), until)


def running_line(*, by_day: Mapping[date, int], parted_on: date, until: date) -> Points:
    """Return the sum of `by_day` from the day on which the ways part, at the end of each day that has any.

    >>> care = {date(2026, 8, 19): 4600, date(2026, 8, 20): 95000, date(2026, 8, 23): 6000}
    >>> for day, amount in running_line(by_day=care, parted_on=date(2026, 8, 20), until=date(2026, 8, 25)):
    ...     print(day, amount)
    2026-08-20 95000
    2026-08-23 101000
    2026-08-25 101000
    """
    so_far, points = 0, []
    for day in sorted({parted_on, *by_day}):
        if parted_on <= day <= until:
            so_far += by_day.get(day, 0)
            points.append((day, so_far))
    return _run_on(tuple(points), until)


def _run_on(points: Points, until: date) -> Points:
    return (*points, (until, points[-1][1])) if points and points[-1][0] < until else points
