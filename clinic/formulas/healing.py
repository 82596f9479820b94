"""What wound readings say: area, percent reduction, margin advance, and the day on which a wound may close.

Measurements, not money: millimeters in, floats out. Length by width is read as an ellipse (pi/4 x length x
width, full axes) with Ramanujan's perimeter; a traced wound brings its own area and perimeter. Margin advance
is Gilman's linear measure: (A1 - A2) / mean of both perimeters / days. A series has one method throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, pi, sqrt

ENOUGH = 5  # readings for a projected day
EARLY_DAYS, EARLY_REDUCTION = 28, 50.0


class WoundRefused(ValueError):
    """Readings of which nothing can be said; the message says why."""


class NotAWound(WoundRefused):
    pass


class OutOfOrder(WoundRefused):
    pass


class TwoMethods(WoundRefused):
    pass


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading: area in square millimeters, and the perimeter where it is known."""

    on: date
    method: str  # "axes" or "traced"
    area: float
    perimeter: float | None


@dataclass(frozen=True, kw_only=True)
class Closing:
    """The day on which the wound closes at its pace, between the fastest and the slowest pace seen."""

    on: date
    earliest: date
    latest: date | None  # None where the slowest pace never closes it


def by_axes(*, on: date, length: float, width: float) -> Reading:
    """Return the reading of a wound measured by length and width, as an ellipse.

    >>> round(by_axes(on=date(2026, 10, 1), length=42, width=28).area / 100, 4)
    9.2363
    >>> round(by_axes(on=date(2026, 10, 1), length=40, width=40).perimeter, 6) == round(40 * pi, 6)
    True

    :raises NotAWound: when a length or a width is not above zero, or the width is the longer one.
    """
    if length <= 0 or width <= 0:
        raise NotAWound("A length and a width are above zero. A wound that has closed has healed.")
    if width > length:
        raise NotAWound("The length is the longer of the two.")
    a, b = length / 2, width / 2
    h = ((a - b) / (a + b)) ** 2
    around = pi * (a + b) * (1 + 3 * h / (10 + sqrt(4 - 3 * h)))
    return Reading(on=on, method="axes", area=pi * a * b, perimeter=around)


def traced(*, on: date, area: float, perimeter: float | None = None) -> Reading:
    """Return the reading of a wound whose edge was traced.

    :raises NotAWound: when the area is not above zero, or no outline so short could hold it.
    """
    if area <= 0:
        raise NotAWound("An area is above zero. A wound that has closed has healed.")
    if perimeter is not None and perimeter * perimeter < 4 * pi * area * 0.999:
        raise NotAWound("No outline so short can hold that area.")
    return Reading(on=on, method="traced", area=area, perimeter=perimeter)


def check(*, readings: Sequence[Reading]) -> None:
    """Refuse a series that cannot be read as one.

    :raises OutOfOrder: when a reading is not later than the one before.
    :raises TwoMethods: when the series mixes length by width with tracing.
    """
    if len({reading.method for reading in readings}) > 1:
        raise TwoMethods("These readings mix two methods, and areas of two methods do not compare.")
    for before, after in zip(readings, readings[1:], strict=False):
        if after.on <= before.on:
            raise OutOfOrder(f"The reading of {after.on} does not come after the one of {before.on}.")


def reduction(*, first: float, last: float) -> float:
    """Return by how many percent an area became smaller; below zero when it grew.

    >>> round(reduction(first=3.9, last=3.1), 1), round(reduction(first=8.2, last=9.0), 1)
    (20.5, -9.8)
    """
    return (first - last) / first * 100


def advance(*, before: Reading, after: Reading) -> float | None:
    """Return the margin advance in millimeters a day; below zero for a growing wound, None without perimeters.

    Circles of radius 20 and 14 mm: the change in radius, whatever the interval.

    >>> big, small = (by_axes(on=date(2026, 10, day), length=2 * r, width=2 * r) for day, r in ((1, 20), (2, 14)))
    >>> round(advance(before=big, after=small), 9)
    6.0
    """
    check(readings=(before, after))
    if before.perimeter is None or after.perimeter is None:
        return None
    mean = (before.perimeter + after.perimeter) / 2
    return (before.area - after.area) / mean / (after.on - before.on).days


def closing(*, readings: Sequence[Reading]) -> Closing | None:
    """Return when a wound closes if its margin advances as over the last five readings.

    A wound that keeps its shape closes after 2 x area / (perimeter x pace) days: a circle after radius / pace.
    None before five readings, without perimeters, and for a wound that grew over them or since the last but one.

    >>> weeks = enumerate((20, 19, 17, 16, 15))
    >>> week = [by_axes(on=date(2026, 9, 1 + 7 * n), length=2 * r, width=2 * r) for n, r in weeks]
    >>> found = closing(readings=week)
    >>> print(found.on, found.earliest, found.latest)
    2026-12-22 2026-11-21 2027-01-12
    """
    check(readings=readings)
    if len(readings) < ENOUGH:
        return None
    recent = readings[-ENOUGH:]
    paces = [advance(before=one, after=other) for one, other in zip(recent, recent[1:], strict=False)]
    whole = advance(before=recent[0], after=recent[-1])
    if whole is None or whole <= 0 or (paces[-1] or 0) <= 0:
        return None
    known = [pace for pace in paces if pace is not None]
    slowest = min(known)
    return Closing(
        on=_closed(recent[-1], whole),
        earliest=_closed(recent[-1], max(*known, whole)),
        latest=_closed(recent[-1], min(slowest, whole)) if slowest > 0 else None,
    )


def later_though_smaller(*, readings: Sequence[Reading]) -> Reading | None:
    """Return the reading that left the last five, where the newest one, though smaller, moved the closing day on.

    Its fast advance no longer counts. None where the day did not move on, or the wound is not smaller.

    >>> days = (0, 7, 14, 21, 28, 35)
    >>> week = [by_axes(on=date(2026, 9, 1) + timedelta(days=day), length=2 * r, width=2 * r)
    ...         for day, r in zip(days, (30, 22, 21, 20, 19, 18))]
    >>> later_though_smaller(readings=week).on
    datetime.date(2026, 9, 1)
    >>> later_though_smaller(readings=week[:5]) is None
    True
    """
    if len(readings) <= ENOUGH or readings[-1].area >= readings[-2].area:
        return None
    before, now = closing(readings=readings[:-1]), closing(readings=readings)
    return readings[-ENOUGH - 1] if before and now and now.on > before.on else None


def _closed(last: Reading, pace: float) -> date:
    days = ceil(2 * last.area / ((last.perimeter or 1) * pace) - 1e-9)
    return last.on + timedelta(days=min(days, 36500))


def slow_at_four_weeks(*, readings: Sequence[Reading]) -> float | None:
    """Return the reduction at four weeks where it is a warning (under 50 percent); None otherwise, or too early.

    It is read at the first reading from the 28th day on. A better figure promises nothing.

    >>> first = by_axes(on=date(2026, 9, 1), length=40, width=40)
    >>> late = by_axes(on=date(2026, 9, 29), length=30, width=30)
    >>> round(slow_at_four_weeks(readings=[first, late]), 2)
    43.75
    """
    check(readings=readings)
    late = next((one for one in readings if (one.on - readings[0].on).days >= EARLY_DAYS), None)
    if late is None:
        return None
    by = reduction(first=readings[0].area, last=late.area)
    return by if by < EARLY_REDUCTION else None
