"""Outcomes on a scale of cost: a row for each choice, a dot for each way it may end, sized by its cases in 100."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

from config.charts import drawing as d
from config.charts.axes import Scale, spread, ticks

ROW, HEAD, FOOT = 66, 8, 34
FULL_AREA = 9**2  # the squared radius of a dot that stands for all cases


@dataclass(frozen=True, kw_only=True)
class Ending:
    """One way a choice may end: filled where it heals, open where it does not."""

    words: str
    cost_minor: int
    in_100: int
    healed: bool


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One choice with its endings, its mean, and the costs under which 1, 5 and 9 of 10 cases end."""

    words: str
    remark: str
    endings: tuple[Ending, ...]
    expected_minor: int
    low_minor: int
    half_minor: int
    high_minor: int


def outcomes(*, name: str, title: str, desc: str, choices: Sequence[Choice], digits: int, caption: str = "") -> d.Chart:
    """Draw the choices under each other on one scale; the table holds every ending with its cost."""
    wide, narrow = (
        d.Drawing(width, HEAD + ROW * len(choices) + FOOT, title, desc, tuple(_shapes(choices, width, label, digits)))
        for width, label in ((690, 190), (328, 0))
    )
    rows = tuple(
        d.Row(f"{choice.words}: {ending.words}", (d.written(ending.cost_minor, digits), str(ending.in_100)))
        for choice in choices
        for ending in choice.endings
    )
    return d.Chart(name, title, desc, wide, narrow, caption, d.Table(("How it may end", "Cost", "In 100"), rows))


def _shapes(choices, width, label, digits):
    unit = 10**digits
    most = max(ending.cost_minor for choice in choices for ending in choice.endings)
    rungs = [rung * unit for rung in ticks(0, -(-most // unit), most=5 if label else 4)]
    across = Scale(Fraction(0), Fraction(rungs[-1]), Fraction(label + 12), Fraction(width - 16))
    foot = HEAD + ROW * len(choices)
    for rung in rungs:
        yield d.line(across(rung), HEAD, across(rung), foot, d.ZERO if rung == 0 else d.GRID)
        yield d.text(across(rung), foot + 18, d.written(rung // unit, 0), d.SCALE, "middle")
    for number, choice in enumerate(choices):
        top = HEAD + ROW * number
        yield d.line(0, top + ROW, width, top + ROW, d.GRID)
        yield from _name(choice, label, top)
        yield from _row(choice, across, top + 40)


def _name(choice, label, top):
    if label:
        yield d.text(0, top + 36, choice.words, d.PLAIN)
        yield d.text(0, top + 52, choice.remark, d.LABEL)
    else:
        yield d.text(0, top + 14, f"{choice.words}, {choice.remark}", d.PLAIN)


def _row(choice, across, middle):
    """A box over the middle 8 of 10, a bar at the half, a triangle at the mean, and the dots over all."""
    low, high = across(choice.low_minor), across(choice.high_minor)
    if high > low:
        yield d.box(low, middle - 5, high - low, 10, d.Pen(d.RULE, "0.8", d.WASH))
        yield d.line(across(choice.half_minor), middle - 9, across(choice.half_minor), middle + 9, d.ZERO)
        mean = across(choice.expected_minor)
        yield d.Path(
            f"M{d.at(mean - 5)} {d.at(middle - 20)}h10l-5 8z",
            d.LATER,
        )
    places = [across(ending.cost_minor) for ending in choice.endings]
    labels = spread(places, gap=20, low=int(across.start), high=int(across.end))
    for ending, place, label in zip(choice.endings, places, labels, strict=True):
        yield d.Dot(d.at(place), d.at(middle), d.at(_radius(ending.in_100)), d.FULL if ending.healed else d.OPEN)
        yield d.text(label, middle + 21, str(ending.in_100), d.LABEL, "middle")


def _radius(in_100: int) -> Fraction:
    """Return the radius of a dot whose area tells the cases: exact to a tenth, never too small to see.

    >>> [str(_radius(n)) for n in (100, 25, 0)]
    ['9', '9/2', '5/2']
    """
    return max(Fraction(isqrt(FULL_AREA * 100 * in_100 // 100), 10), Fraction(5, 2))
