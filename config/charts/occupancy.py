"""Who was in care, night by night: one mark for each animal, its shape the kind."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from config.charts import drawing as d
from config.charts.axes import day_ticks, ticks


@dataclass(frozen=True, kw_only=True)
class Night:
    on: date
    counts: tuple[int, ...]  # one for each kind, in the order of `kinds`


def _full(x, y, half):
    return d.box(x - half, y - half, 2 * half, 2 * half, d.FULL)


def _open(x, y, half):
    inner = half - Fraction(1, 2)
    return d.box(x - inner, y - inner, 2 * inner, 2 * inner, d.Pen(d.INK, "1.2", d.PAPER))


def _dot(x, y, half):
    return d.Dot(d.at(x), d.at(y), d.at(half * Fraction(4, 5)), d.Pen(fill=d.PENCIL))


def _ring(x, y, half):
    return d.Dot(d.at(x), d.at(y), d.at(half * Fraction(4, 5)), d.Pen(d.PENCIL, "1.1", d.PAPER))


SHAPES = (_full, _open, _dot, _ring)


def occupancy(
    *,
    name: str,
    title: str,
    desc: str,
    nights: Sequence[Night],
    kinds: Sequence[str],
    places: int = 0,
    caption: str = "",
) -> d.Chart:
    """Draw the nights of up to four kinds; the last kind takes the last shape. `places` rules a line at capacity."""
    wide, narrow = (
        d.Drawing(width, 186, title, desc, tuple(_shapes(nights, kinds, places, width))) for width in (352, 328)
    )
    table = d.Table(
        ("Night", *kinds, "Together"),
        tuple(
            d.Row(f"{night.on:%b} {night.on.day}", tuple(str(n) for n in (*night.counts, sum(night.counts))))
            for night in nights
        ),
    )
    last = nights[-1].counts if nights else ()
    key = tuple(
        d.KeyPart(
            f"{count} {kind.removesuffix('s') if count == 1 else kind}",
            (SHAPES[n](Fraction(5), Fraction(5), Fraction(7, 2)),),
        )
        for n, (kind, count) in enumerate(zip(kinds, last, strict=False))
    )
    return d.Chart(name, title, desc, wide, narrow, caption, table, key)


def _shapes(nights, kinds, places, width):
    left, foot, head = 26, 160, 18
    most = max([sum(night.counts) for night in nights] + [places, 1])
    rungs = ticks(0, most, most=4)
    rise = Fraction(foot - head, max(most, rungs[-1] if rungs[-1] - most <= most // 4 else most))
    column = Fraction(width - left - 4, max(len(nights), 1))
    half = min(rise * Fraction(2, 5), column * Fraction(1, 4), Fraction(4))
    for rung in (rung for rung in rungs if rung * rise <= foot - head):
        yield d.line(left, foot - rung * rise, width - 4, foot - rung * rise, d.GRID if rung else d.ZERO)
        yield d.text(left - 6, foot - rung * rise + 4, str(rung), d.SCALE, "end")
    if places:
        yield d.line(left, foot - places * rise, width - 4, foot - places * rise, d.LIMIT)
        yield d.text(width - 4, foot - places * rise - 5, f"{places} places", d.LABEL, "end")
    for number, night in enumerate(nights):
        across, level = left + column * (number + Fraction(1, 2)), 0
        for kind, count in enumerate(night.counts):
            for _ in range(count):
                yield SHAPES[kind](across, foot - (level + Fraction(1, 2)) * rise, half)
                level += 1
    yield from _dates(nights, left, column, foot)


def _dates(nights, left, column, foot):
    days = {night.on: number for number, night in enumerate(nights)}
    if not days:
        return
    for day in day_ticks(min(days), max(days), most=4):
        if day in days:
            across = left + column * (days[day] + Fraction(1, 2))
            yield d.line(across, foot, across, foot + 4, d.ZERO)
            is_last = across + 44 > left + column * len(nights)
            yield d.text(
                across + (2 if is_last else -2),
                foot + 17,
                f"{day:%b} {day.day}",
                d.LABEL,
                "end" if is_last else "start",
            )
