"""Bars by name: what is there in ink, what is set aside hatched behind it, the amount at the right."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from config.charts import drawing as d
from config.charts.axes import Scale

ROW = 30


@dataclass(frozen=True, kw_only=True)
class Bar:
    words: str
    amount_minor: int
    set_aside_minor: int = 0
    empty: str = ""  # the word beside the diamond where nothing is left


def bars(
    *, name: str, title: str, desc: str, rows: Sequence[Bar], heads: tuple[str, ...], digits: int, caption: str = ""
) -> d.Chart:
    """Draw one bar for each row. `heads` names the table's columns: name, amount and, where used, set aside."""
    wide, narrow = (
        d.Drawing(width, ROW * len(rows) + 8, title, desc, tuple(_shapes(rows, width, label, digits)))
        for width, label in ((352, 140), (328, 124))
    )
    table = d.Table(heads, tuple(d.Row(row.words, _cells(row, len(heads), digits)) for row in rows))
    return d.Chart(name, title, desc, wide, narrow, caption, table)


def _cells(row, columns, digits):
    amounts = (row.amount_minor, row.set_aside_minor)[: columns - 1]
    return tuple(d.written(amount, digits) for amount in amounts)


def _shapes(rows, width, label, digits):
    longest = max([row.amount_minor + row.set_aside_minor for row in rows] + [1])
    across = Scale(Fraction(0), Fraction(longest), Fraction(label), Fraction(width - 84))
    for number, row in enumerate(rows):
        middle = 8 + ROW * number + 11
        yield d.line(0, middle + 15, width, middle + 15, d.GRID)
        yield d.text(0, middle + 4, _short(row.words, label), d.PLAIN)
        yield from _bar(row, across, middle)
        letters = d.Letters(d.FIGURES, "13", d.HEED if _is_empty(row) else d.INK)
        yield d.text(width, middle + 4, d.written(row.amount_minor, digits), letters, "end")
    yield d.line(label, 0, label, 8 + ROW * len(rows) - 4, d.ZERO)


def _is_empty(row: Bar) -> bool:
    return bool(row.empty) and row.amount_minor <= 0


def _bar(row, across, middle):
    if _is_empty(row):
        yield d.diamond(across.start + 6, middle, 6, d.ALARM)
        yield d.text(across.start + 18, middle + 4, row.empty, d.WARN)
        return
    end = across(max(row.amount_minor, 0))
    if row.amount_minor > 0:
        yield d.box(across.start, middle - 5, max(end - across.start, Fraction(1)), 10, d.FULL)
    if row.set_aside_minor > 0:
        width = across(row.set_aside_minor) - across.start
        yield d.hatched(end, Fraction(middle - 5), width, Fraction(10))
        yield d.box(end, middle - 5, width, 10, d.Pen(d.RULE))


def _short(words: str, room: int) -> str:
    """Cut a name to its room; the table holds it whole.

    >>> _short("Brindle Yard fund", 140), _short("Fund for hedgehogs and other small animals", 140)
    ('Brindle Yard fund', 'Fund for hedgehogs…')
    """
    most = room // 7
    return words if len(words) <= most else words[: most - 1].rsplit(" ", 1)[0] + "…"
