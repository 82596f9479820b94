"""Chances on a scale of cases in 100: a dot for each with its range, and a mark across all of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from config.charts import drawing as d
from config.charts.axes import Scale, width_of

ROW, HEAD, FOOT = 52, 26, 30


@dataclass(frozen=True, kw_only=True)
class Range:
    """A chance in cases of 100, with its range where there is one; `is_seen` where cases were counted."""

    words: str
    remark: str
    in_100: Fraction
    low: Fraction | None = None
    high: Fraction | None = None
    is_seen: bool = False


def ranges(
    *,
    name: str,
    title: str,
    desc: str,
    rows: Sequence[Range],
    mark: Fraction | None = None,
    mark_words: str = "",
    caption: str = "",
) -> d.Chart:
    wide, narrow = (
        d.Drawing(
            width, HEAD + ROW * len(rows) + FOOT, title, desc, tuple(_shapes(rows, width, label, mark, mark_words))
        )
        for width, label in ((690, 190), (328, 0))
    )
    table = d.Table(
        ("Operation", "Of 100", "From", "To"),
        tuple(d.Row(row.words, (_whole(row.in_100), _whole(row.low), _whole(row.high))) for row in rows),
    )
    return d.Chart(name, title, desc, wide, narrow, caption, table)


def _whole(value: Fraction | None) -> str:
    """
    >>> _whole(Fraction(551, 10)), _whole(None)
    ('55', '')
    """
    return "" if value is None else str((value + Fraction(1, 2)).__floor__())


def _shapes(rows, width, label, mark, mark_words):
    across = Scale(Fraction(0), Fraction(100), Fraction(label + 12), Fraction(width - 16))
    foot = HEAD + ROW * len(rows)
    for rung in (0, 25, 50, 75, 100):
        yield d.line(across(rung), HEAD, across(rung), foot, d.ZERO if rung == 0 else d.GRID)
        yield d.text(across(rung), foot + 18, str(rung), d.SCALE, "middle")
    if mark is not None:
        yield d.line(across(mark), HEAD - 6, across(mark), foot, d.LIMIT)
        leftward = across(mark) + width_of(mark_words) > width
        yield d.text(across(mark), HEAD - 12, mark_words, d.LABEL, "end" if leftward else "start")
    for number, row in enumerate(rows):
        top = HEAD + ROW * number
        yield d.line(0, top + ROW, width, top + ROW, d.GRID)
        if label:
            yield d.text(0, top + 26, row.words, d.PLAIN)
            yield d.text(0, top + 42, row.remark, d.LABEL)
        else:
            yield d.text(0, top + 14, f"{row.words}, {row.remark}", d.PLAIN)
        yield from _range(row, across, top + 34)


def _range(row, across, middle):
    if row.low is not None and row.high is not None:
        pen = d.ACTUAL if row.is_seen else d.POSSIBLE
        yield d.line(across(row.low), middle, across(row.high), middle, pen)
        for end in (row.low, row.high):
            yield d.line(across(end), middle - 5, across(end), middle + 5, d.THIN)
    shape = d.Dot(d.at(across(row.in_100)), d.at(middle), "4.5", d.FULL) if row.is_seen else None
    yield shape or d.diamond(across(row.in_100), middle, 5, d.LATER)
    yield d.text(across(row.in_100), middle - 9, _whole(row.in_100), d.AMOUNT, "middle")
