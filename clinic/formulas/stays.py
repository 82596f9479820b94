"""Nights and boarding days of stays, by dates and never by hours.

A stay is half-open: the night of the day of admission counts, the night of the day of discharge does not.
In and out on one day makes no night and one boarding day. An animal has at most one boarding day per date,
even where one stay ends and another begins on it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

DAY = timedelta(days=1)


class EndsBeforeItBegins(ValueError):
    """A stay whose discharge lies before its admission."""


@dataclass(frozen=True, kw_only=True)
class Span:
    """From admission to discharge; None while the stay is open."""

    admitted_on: date
    discharged_on: date | None = None

    def __post_init__(self) -> None:
        if self.discharged_on is not None and self.discharged_on < self.admitted_on:
            raise EndsBeforeItBegins("The discharge lies before the admission.")


def overlap(*, one: Span, other: Span) -> bool:
    """Say whether two stays of one animal overlap: a.in < b.out and b.in < a.out.

    >>> may = [date(2026, 5, day) for day in range(1, 32)]
    >>> first = Span(admitted_on=may[0], discharged_on=may[4])
    >>> overlap(one=first, other=Span(admitted_on=may[4], discharged_on=may[9]))
    False
    >>> overlap(one=first, other=Span(admitted_on=may[3]))
    True
    """
    return _before(one.admitted_on, other.discharged_on) and _before(other.admitted_on, one.discharged_on)


def _before(day: date, end: date | None) -> bool:
    return end is None or day < end


def nights(*, spans: Iterable[Span], first: date, last: date) -> int:
    """Return the nights from `first` to `last`, both included, summed over the stays.

    >>> stay = Span(admitted_on=date(2026, 12, 30), discharged_on=date(2027, 1, 2))
    >>> nights(spans=[stay], first=date(2026, 1, 1), last=date(2026, 12, 31))
    2
    >>> nights(spans=[Span(admitted_on=date(2026, 12, 30))], first=date(2026, 1, 1), last=date(2026, 12, 31))
    2
    """
    return sum(_days(begin, end) for begin, end in _clipped(spans, first, last))


def nights_by_year(*, spans: Iterable[Span], last: date) -> dict[int, int]:
    """Return the nights of each year up to `last` (included), for the years that have any.

    >>> stay = Span(admitted_on=date(2025, 12, 31), discharged_on=date(2027, 1, 2))
    >>> nights_by_year(spans=[stay], last=date(2027, 12, 31))
    {2025: 1, 2026: 365, 2027: 1}
    """
    found: Counter[int] = Counter()
    for begin, end in _clipped(spans, date.min, last):
        while begin < end:
            new_year = min(end, date(begin.year + 1, 1, 1)) if begin.year < date.max.year else end
            found[begin.year] += _days(begin, new_year)
            begin = new_year
    return dict(sorted(found.items()))


def boarding_days(*, spans: Iterable[Span], first: date, last: date) -> int:
    """Return one animal's boarding days from `first` to `last`, both included: each date once.

    A day in and out, then three nights from the same day on: three dates.

    >>> day = date(2026, 5, 1)
    >>> boarding_days(spans=[Span(admitted_on=day, discharged_on=day),
    ...                      Span(admitted_on=day, discharged_on=date(2026, 5, 4))],
    ...               first=date(2026, 1, 1), last=date(2026, 12, 31))
    3
    """
    whole = [
        Span(admitted_on=span.admitted_on, discharged_on=span.discharged_on and _at_least_one_day(span))
        for span in spans
    ]
    total, covered = 0, first
    for begin, end in sorted(_clipped(whole, first, last)):
        begin = max(begin, covered)
        total += _days(begin, end)
        covered = max(covered, end)
    return total


def _at_least_one_day(span: Span) -> date:
    return max(span.discharged_on or span.admitted_on, span.admitted_on + DAY)


def _clipped(spans: Iterable[Span], first: date, last: date) -> Iterator[tuple[date, date]]:
    """Give each stay as (first night, day after the last night) inside the period, where any is left."""
    after = last + DAY
    for span in spans:
        begin = max(span.admitted_on, first)
        end = after if span.discharged_on is None else min(span.discharged_on, after)
        if begin < end:
            yield begin, end


def _days(begin: date, end: date) -> int:
    return max((end - begin).days, 0)
