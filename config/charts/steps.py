"""Lines over days that hold their value until the next change: a balance, a running cost."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from config.charts import drawing as d
from config.charts.axes import Scale, day_ticks, lanes, spread, ticks, width_of


@dataclass(frozen=True, kw_only=True)
class Line:
    """A value for each day on which it changed, oldest first; it runs to its last day and ends in a label."""

    words: str
    points: tuple[tuple[date, int], ...]
    kind: str = "actual"  # actual, thin, possible


@dataclass(frozen=True, kw_only=True)
class Moment:
    """A diamond over the drawing: a decision taken, a review ahead, something that needs a person now."""

    on: date
    words: str
    kind: str = "taken"  # taken, ahead, alarm


PENS = {"actual": d.ACTUAL, "thin": d.THIN, "possible": d.POSSIBLE}
DIAMONDS = {"taken": d.OPEN, "ahead": d.LATER, "alarm": d.ALARM}
NAMES = {"actual": d.AMOUNT, "thin": d.AMOUNT, "possible": d.Letters(d.FIGURES, "13", d.PENCIL)}


@dataclass(frozen=True)
class _Frame:
    width: int
    height: int
    right: int  # room kept for the labels at the ends
    days: int  # most dates written under the drawing
    left: int = 52
    foot: int = 26


WIDE = _Frame(690, 320, 150, 8)
FULL = _Frame(1136, 300, 150, 9)
NARROW = _Frame(328, 300, 84, 4, left=46)


def steps(
    *,
    name: str,
    title: str,
    desc: str,
    lines: Sequence[Line],
    digits: int,
    moments: Sequence[Moment] = (),
    today: date | None = None,
    between: bool = False,
    full: bool = False,
    caption: str = "",
) -> d.Chart:
    """Draw `lines` over days. `between` hatches what lies between the first two (set aside, not yet spent).

    `digits` is the currency's number of decimals; values are its minor units. `full` draws across the page.
    """
    wide, narrow = (
        d.Drawing(frame.width, frame.height + extra, title, desc, shapes)
        for frame in (FULL if full else WIDE, NARROW)
        for shapes, extra in [_shapes(frame, lines, moments, today, digits, between)]
    )
    return d.Chart(name, title, desc, wide, narrow, caption, _table(lines, digits))


def value_on(line: Line, on: date) -> int | None:
    """Return the line's value at the end of a day, or None before it begins or after it ends.

    >>> paid = Line(words="paid", points=((date(2026, 10, 1), 500), (date(2026, 10, 9), 900)))
    >>> [value_on(paid, date(2026, 10, day)) for day in (1, 8, 9, 10)]
    [500, 500, 900, None]
    """
    if on > line.points[-1][0]:
        return None
    return next((value for day, value in reversed(line.points) if day <= on), None)


def _shapes(frame, lines, moments, today, digits, between):
    drawn = [line for line in lines if line.points]
    days = [day for line in drawn for day, _ in line.points] + [moment.on for moment in moments]
    days += [today] if today else []
    first, last = min(days), max(days)
    last = max(last, first + timedelta(days=1))
    rungs = _rungs([value for line in drawn for _, value in line.points], digits)
    marked, top = _marks(frame, moments, first, last)
    x = Scale(Fraction(0), Fraction((last - first).days), Fraction(frame.left), Fraction(frame.width - frame.right))
    y = Scale(Fraction(rungs[0]), Fraction(rungs[-1]), Fraction(frame.height + top - frame.foot), Fraction(top + 12))
    shapes = [*_rules(frame, x, y, rungs, digits), *_dates(frame, x, y, first, last)]
    if today:
        shapes += [d.line(x((today - first).days), top, x((today - first).days), y(rungs[0]), d.Pen(d.INK, "0.8"))]
    if between and len(drawn) > 1:
        shapes += _hatch(x, y, drawn[0], drawn[1], first)
    shapes += [d.Path(_steps(line, x, y, first), PENS[line.kind]) for line in reversed(drawn)]
    shapes += [shape for build in marked for shape in build(x, y, rungs[0])]
    shapes += _ends(frame, x, y, drawn, first, digits)
    return tuple(shapes), top


def _rungs(values, digits):
    unit = 10**digits
    return [rung * unit for rung in ticks(min([*values, 0]) // unit, -(-max([*values, 0]) // unit))]


def _rules(frame, x, y, rungs, digits):
    for rung in rungs:
        yield d.line(x.start, y(rung), x.end, y(rung), d.ZERO if rung == 0 else d.GRID)
        yield d.text(x.start - 8, y(rung) + 4, d.written(rung // 10**digits, 0), d.SCALE, "end")


def _dates(frame, x, y, first, last):
    foot = y.start
    for day in day_ticks(first, last, most=frame.days):
        across = x((day - first).days)
        yield d.line(across, foot, across, foot + 5, d.ZERO)
        yield d.text(across + 3, foot + 17, f"{day:%b} {day.day}", d.LABEL)


def _marks(frame, moments, first, last):
    """Place the diamonds and their words in as many lines as they need; return how far the drawing moves down."""
    span = Scale(Fraction(0), Fraction((last - first).days), Fraction(frame.left), Fraction(frame.width - frame.right))
    places = [span((moment.on - first).days) for moment in moments]
    starts = [
        min(place - 8, frame.width - 20 - width_of(moment.words)) for place, moment in zip(places, moments, strict=True)
    ]
    rows = lanes([(start, start + 24 + width_of(moment.words)) for start, moment in zip(starts, moments, strict=True)])

    def build(moment, place, row):
        def shapes(x, y, low):
            middle = 10 + 18 * row
            letters = d.WARN if moment.kind == "alarm" else d.LABEL
            leftward = place + 20 + width_of(moment.words) > frame.width
            yield d.line(place, middle, place, y(low), d.DROP)
            yield d.diamond(place, middle, 5, DIAMONDS[moment.kind])
            yield d.text(
                place + (-9 if leftward else 9), middle + 4, moment.words, letters, "end" if leftward else "start"
            )

        return shapes

    made = [build(moment, place, row) for moment, place, row in zip(moments, places, rows, strict=True)]
    return made, 18 * (max(rows) + 1) if rows else 0


def _steps(line, x, y, first):
    (day, value), *rest = line.points
    path = f"M{d.at(x((day - first).days))} {d.at(y(value))}"
    for day, value in rest:
        path += f"H{d.at(x((day - first).days))}V{d.at(y(value))}"
    return path


def _hatch(x, y, upper, lower, first):
    days = sorted({day for line in (upper, lower) for day, _ in line.points})
    for day, following in zip(days, days[1:], strict=False):
        values = value_on(upper, day), value_on(lower, day)
        if None in values or values[0] == values[1]:
            continue
        high, low = sorted((y(values[0]), y(values[1])))
        left, right = x((day - first).days), x((following - first).days)
        yield d.hatched(left, high, right - left, low - high)


def _ends(frame, x, y, lines, first, digits):
    """Label each line where it ends: at the right edge in a column, before it beside its last day."""
    ends = [(line, x((line.points[-1][0] - first).days), y(line.points[-1][1])) for line in lines]
    for line, across, height in ends:
        yield d.Dot(d.at(across), d.at(height), "3", d.FULL if line.kind != "possible" else d.LATER)
    column = [end for end in ends if end[1] > x.end - 12]
    heights = spread([height for _, _, height in column], gap=34, low=int(y.end), high=int(y.start) - 16)
    for (line, _, _), height in zip(column, heights, strict=True):
        yield d.text(x.end + 9, height + 2, d.written(line.points[-1][1], digits), NAMES[line.kind])
        for n, words in enumerate(fold(line.words, frame.right - 12)):
            yield d.text(x.end + 9, height + 16 + 14 * n, words, d.LABEL)
    yield from _early(x, [end for end in ends if end not in column], digits)


def _early(x, ends, digits):
    """Write above the line that leads there: leftward under the highest end, rightward where time is still free."""
    highest = min((height for _, _, height in ends), default=None)
    for line, across, height in ends:
        words = f"{line.words}: {d.written(line.points[-1][1], digits)}"
        letters = d.REMARK if line.kind == "possible" else d.Letters(d.DISPLAY, "14", d.INK, slant=True)
        leftward = height == highest or across + width_of(words) > x.end + 80
        yield d.text(across + (-8 if leftward else 8), height - 7, words, letters, "end" if leftward else "start")


def fold(words: str, room: int) -> tuple[str, ...]:
    """Break a label into at most two lines of about `room` pixels.

    >>> fold("set aside for two plans", 84), fold("balance", 84)
    (('set aside for', 'two plans'), ('balance',))
    """
    if width_of(words) <= room or " " not in words:
        return (words,)
    spaces = [n for n, letter in enumerate(words) if letter == " "]
    cut = next((n for n in spaces if width_of(words[n + 1 :]) <= room), spaces[-1])
    return (words[:cut], words[cut + 1 :])


def _table(lines, digits):
    days = sorted({day for line in lines for day, _ in line.points})
    rows = tuple(
        d.Row(
            f"{day:%b} {day.day}, {day.year}",
            tuple("" if (value := value_on(line, day)) is None else d.written(value, digits) for line in lines),
        )
        for day in days
    )
    return d.Table(("Day", *(line.words for line in lines)), rows)
