"""An area that is measured now and then and should shrink to nothing: a wound, with the days on which it may close."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from config.charts import drawing as d
from config.charts.axes import Scale, day_ticks, ticks, width_of

SQUARE_CM = 100  # square millimeters
STEPS = 16  # straight pieces in a curve


@dataclass(frozen=True, kw_only=True)
class Closing:
    """The day on which it closes at its pace, the earliest, and the latest (None: it may never)."""

    on: date
    earliest: date
    latest: date | None


@dataclass(frozen=True)
class _Frame:
    width: int
    height: int
    days: int
    left: int = 40
    right: int = 96
    foot: int = 26


WIDE, NARROW = _Frame(690, 300, 8), _Frame(328, 260, 4, right=24)


def shrinking(
    *,
    name: str,
    title: str,
    desc: str,
    points: Sequence[tuple[date, int]],
    closing: Closing | None = None,
    caption: str = "",
) -> d.Chart:
    """Draw `points` (square millimeters by day) as a line with its dots, and the way to nothing in pencil.

    Where the edge advances evenly the area falls with the square of the time that is left.
    """
    wide, narrow = (
        d.Drawing(frame.width, frame.height, title, desc, tuple(_shapes(frame, points, closing)))
        for frame in (WIDE, NARROW)
    )
    rows = tuple(d.Row(_day(on), (_area(area),)) for on, area in points)
    if closing:
        rows += (d.Row(f"{_day(closing.on)}, at its pace", (_area(0),)),)
    return d.Chart(name, title, desc, wide, narrow, caption, d.Table(("Day", "Square centimeters"), rows))


def _day(on: date) -> str:
    return f"{on:%b} {on.day}, {on.year}"


def _area(area: int) -> str:
    """
    >>> _area(1533), _area(0)
    ('15.3', '0.0')
    """
    tenths = (area * 10 + SQUARE_CM // 2) // SQUARE_CM
    return f"{tenths // 10}.{tenths % 10}"


def _shapes(frame, points, closing):
    first, newest = points[0][0], points[-1]
    latest = max([newest[0], *([closing.latest or closing.on, closing.on] if closing else [])])
    latest = min(latest, newest[0] + timedelta(days=2 * max((newest[0] - first).days, 90)))
    rungs = [rung * SQUARE_CM for rung in ticks(0, -(-max(area for _, area in points) // SQUARE_CM))]
    x = Scale(
        Fraction(0), Fraction(max((latest - first).days, 1)), Fraction(frame.left), Fraction(frame.width - frame.right)
    )
    y = Scale(Fraction(0), Fraction(rungs[-1]), Fraction(frame.height - frame.foot), Fraction(16))

    def at(on):
        return x((on - first).days)

    for rung in rungs:
        yield d.line(x.start, y(rung), x.end, y(rung), d.ZERO if rung == 0 else d.GRID)
        yield d.text(x.start - 8, y(rung) + 4, str(rung // SQUARE_CM), d.SCALE, "end")
    for day in day_ticks(first, latest, most=frame.days):
        yield d.line(at(day), y.start, at(day), y.start + 5, d.ZERO)
        yield d.text(at(day) + 3, y.start + 17, f"{day:%b} {day.day}", d.LABEL)
    if closing:
        yield from _ahead(at, x, y, newest, closing)
    line = "L".join(f"{d.at(at(on))} {d.at(y(area))}" for on, area in points)
    yield d.Path(f"M{line}", d.ACTUAL)
    for on, area in points:
        yield d.Dot(d.at(at(on)), d.at(y(area)), "3.6", d.OPEN)
    yield d.text(at(first) + 8, y(points[0][1]) - 6, _area(points[0][1]), d.AMOUNT)
    yield d.text(at(newest[0]) + 8, y(newest[1]) - 6, f"{_area(newest[1])} cm²", d.AMOUNT)


def _ahead(at, x, y, newest, closing):
    """Shade from the fastest to the slowest way, then draw the way at its pace in pencil."""
    fast = [_xy(at, x, y, newest, closing.earliest, n) for n in range(STEPS + 1)]
    slow = (
        [_xy(at, x, y, newest, closing.latest, n) for n in range(STEPS + 1)]
        if closing.latest
        else [(at(newest[0]), y(newest[1])), (x.end, y(newest[1])), (x.end, y.start)]
    )
    around = [*fast, *reversed(slow)]
    yield d.Path(_joined(around) + "Z", d.Pen(d.RULE, "0.6", d.WASH))
    yield d.Path(_joined([_xy(at, x, y, newest, closing.on, n) for n in range(STEPS + 1)]), d.POSSIBLE)
    if at(closing.on) <= x.end:
        words = f"{closing.on:%b} {closing.on.day}"
        yield d.Dot(d.at(at(closing.on)), d.at(y.start), "3.6", d.LATER)
        leftward = at(closing.on) + width_of(words) > x.end + 40
        yield d.text(at(closing.on), y.start - 10, words, d.REMARK, "end" if leftward else "start")


def _xy(at, x, y, newest, on, step):
    """Return a place on the way to nothing: after `step` of STEPS parts of the time that is left."""
    start, gone = at(newest[0]), Fraction(step, STEPS)
    across = start + (at(on) - start) * gone
    return min(across, x.end), y(Fraction(newest[1]) * (1 - gone) ** 2)


def _joined(places):
    return "M" + "L".join(f"{d.at(across)} {d.at(height)}" for across, height in places)
