"""Scales of a chart: round steps for amounts, months for days, and labels that keep out of each other's way."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from config.days import month_after


@dataclass(frozen=True)
class Scale:
    """A straight map from a value to a coordinate."""

    low: Fraction
    high: Fraction
    start: Fraction
    end: Fraction

    def __call__(self, value: int | Fraction) -> Fraction:
        return self.start + (Fraction(value) - self.low) * (self.end - self.start) / (self.high - self.low)


def ticks(low: int, high: int, *, most: int = 5) -> tuple[int, ...]:
    """Return round values from at or below `low` to at or above `high`, zero among them, at most about `most` steps.

    >>> ticks(0, 4396), ticks(0, 9), ticks(-2417, 1983), ticks(0, 0)
    ((0, 1000, 2000, 3000, 4000, 5000), (0, 2, 4, 6, 8, 10), (-3000, -2000, -1000, 0, 1000, 2000), (0, 1))
    """
    low, high = min(low, 0), max(high, 0)
    if low == high:
        return (0, 1)
    step = next(size for size in _round_sizes() if -(-high // size) + -(low // size) <= most)
    return tuple(step * n for n in range(low // step, -(-high // step) + 1))


def _round_sizes():
    power = 1
    while True:
        yield from (power, 2 * power, 5 * power)
        power *= 10


def month_starts(first: date, last: date, *, most: int = 8) -> tuple[date, ...]:
    """Return the first days of months inside the span, thinned evenly to at most `most`.

    >>> month_starts(date(2026, 8, 19), date(2026, 11, 14))
    (datetime.date(2026, 9, 1), datetime.date(2026, 10, 1), datetime.date(2026, 11, 1))
    """
    found, day = [], first.replace(day=1)
    while day <= last:
        if day >= first:
            found.append(day)
        day = month_after(day)
    return tuple(found[:: -(-len(found) // most) or 1])


def day_ticks(first: date, last: date, *, most: int = 8) -> tuple[date, ...]:
    """Return months where the span holds two or more, else weeks.

    >>> day_ticks(date(2026, 10, 1), date(2026, 10, 20))
    (datetime.date(2026, 10, 1), datetime.date(2026, 10, 8), datetime.date(2026, 10, 15))
    """
    months = month_starts(first, last, most=most)
    if len(months) >= 2:
        return months
    span = (last - first).days
    step = max(7, -(-span // most // 7) * 7)
    return tuple(first + timedelta(days=n) for n in range(0, span + 1, step))


def spread(wanted: Sequence[Fraction], *, gap: int, low: int, high: int) -> tuple[Fraction, ...]:
    """Move labels apart until none is nearer than `gap` to the next, keeping their order and the frame.

    >>> [str(y) for y in spread([Fraction(10), Fraction(12), Fraction(90)], gap=16, low=0, high=100)]
    ['10', '26', '90']
    >>> [str(y) for y in spread([Fraction(95), Fraction(96)], gap=16, low=0, high=100)]
    ['84', '100']
    """
    order = sorted(range(len(wanted)), key=lambda n: (wanted[n], n))
    placed: dict[int, Fraction] = {}
    floor = Fraction(low)
    for n in order:
        placed[n] = max(wanted[n], floor)
        floor = placed[n] + gap
    ceiling = Fraction(high)
    for n in reversed(order):
        placed[n] = min(placed[n], ceiling)
        ceiling = placed[n] - gap
    return tuple(placed[n] for n in range(len(wanted)))


def lanes(spans: Sequence[tuple[Fraction, Fraction]]) -> tuple[int, ...]:
    """Put labels that would touch on lines below each other: the first free line, counted from 0.

    >>> lanes([(Fraction(0), Fraction(50)), (Fraction(40), Fraction(90)), (Fraction(60), Fraction(80))])
    (0, 1, 0)
    """
    ends: list[Fraction] = []
    chosen = []
    for start, end in spans:
        free = next((n for n, taken in enumerate(ends) if taken <= start), len(ends))
        ends[free : free + 1] = [end]
        chosen.append(free)
    return tuple(chosen)


def width_of(words: str) -> Fraction:
    """Estimate how wide 12 px letters run: generous, so that neighbours keep apart."""
    return Fraction(13, 2) * len(words)
