"""A donor's gifts drawn as an engraving: each line carries the same sum from a gift to what it paid for."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from config.charts import drawing as d
from config.charts.beasts import SIZES, Beast, beast_of

MOST_LINES = 150
FEWEST_LINES = 8


@dataclass(frozen=True, kw_only=True)
class Source:
    """A gift: its amount, when it came, and the fund it was given for."""

    amount_minor: int
    when: str
    fund: str
    to: tuple[int, ...]  # minor units for each target, in order; they sum to the amount


@dataclass(frozen=True, kw_only=True)
class Target:
    """Where money went: an animal (with its species), a fee, or money that still waits."""

    words: str
    kind: str = "animal"  # animal, fee, waiting
    species: str = ""


LINE = {
    "animal": d.Pen(d.INK, "0.8"),
    "fee": d.Pen(d.PENCIL, "0.9", dash="0.9 2.2"),
    "waiting": d.Pen(d.PENCIL, "0.9", dash="3 2.2"),
}
BRACKET = d.Pen(d.INK, "1.6")
BIG = d.Letters(d.DISPLAY, "20", d.INK)
NAME = d.Letters(d.DISPLAY, "17", d.INK)
QUIET = d.Letters(d.DISPLAY, "16", d.PENCIL, slant=True)


@dataclass(frozen=True)
class _Frame:
    width: int
    start: int  # where the lines leave the gifts
    end: int  # where they arrive
    least: int  # the least height of a target
    big: d.Letters
    name: d.Letters
    with_beasts: bool
    gift: int = 58  # the least height of a gift, and what stands between two of them
    between_gifts: int = 18
    between: int = 10
    beast: int = 44
    in_one_line: bool = False  # when a gift came and what for stand beside each other


WIDE = _Frame(672, 104, 476, 44, BIG, NAME, True)
NARROW = _Frame(328, 78, 206, 38, d.Letters(d.DISPLAY, "16", d.INK), d.Letters(d.DISPLAY, "15", d.INK), False)

CLOSE = replace(WIDE, start=200, least=38, gift=38, between_gifts=2, between=2, beast=36, in_one_line=True)
LONGEST_LABEL = 32


def each_line_minor(total_minor: int, *, digits: int) -> int:
    """Choose what one line stands for: five units, more where the drawing would be black, less where it would be bare.

    >>> [each_line_minor(total, digits=2) for total in (64000, 1200, 5000, 1_000_000)]
    [500, 100, 500, 10000]
    """
    unit = 10**digits
    if total_minor < FEWEST_LINES * 5 * unit:
        return unit
    sizes = (size * power * unit for power in (5, 50, 500, 5000, 50000, 500000) for size in (1, 2, 4))
    return next((size for size in sizes if total_minor <= MOST_LINES * size), total_minor)


def lines_of(amounts: Sequence[int], each_minor: int) -> tuple[int, ...]:
    """Share a gift's lines over its parts by largest remainder, ties to the earlier.

    >>> lines_of((8955, 2667, 378), 500), lines_of((0, 500), 500), lines_of((30, 0), 500)
    ((18, 5, 1), (0, 1), (1, 0))
    """
    total = sum(amounts)
    if not total:
        return tuple(0 for _ in amounts)
    count = max(1, (Fraction(total, each_minor) + Fraction(1, 2)).__floor__())
    quotas = [Fraction(amount * count, total) for amount in amounts]
    whole = [quota.__floor__() for quota in quotas]
    by_rest = sorted(range(len(quotas)), key=lambda n: (whole[n] - quotas[n], n))
    for n in by_rest[: count - sum(whole)]:
        whole[n] += 1
    return tuple(whole)


def flow(
    *,
    name: str,
    title: str,
    desc: str,
    gifts: Sequence[Source],
    targets: Sequence[Target],
    digits: int,
    caption: str = "",
    room: int | None = None,
) -> d.Chart:
    """Draw every gift on the left, what it paid for on the right; the amounts beside them are exact.

    On paper it keeps to a `room`, the height that its leaf leaves it at its full width: closer, at last smaller.
    """
    each = each_line_minor(sum(gift.amount_minor for gift in gifts), digits=digits)
    counts = [lines_of(gift.to, each) for gift in gifts]
    order = _order(gifts, targets)
    drawn = [targets[n] for n in order]
    sums = [sum(gift.to[n] for gift in gifts) for n in order]
    threads = [tuple(row[n] for n in order) for row in counts]
    frame, height = _fitting(threads, room)
    wide = _drawing(frame, title, desc, gifts, drawn, sums, threads, digits, height)
    narrow = _drawing(NARROW, title, desc, gifts, drawn, sums, threads, digits, _needs(NARROW, threads))
    heads = ("Gift", *(target.words for target in targets), "Together")
    rows = tuple(
        d.Row(
            f"{gift.when}, {gift.fund}",
            (*(d.written(part, digits) if part else "" for part in gift.to), d.written(gift.amount_minor, digits)),
        )
        for gift in gifts
    )
    return d.Chart(name, title, desc, wide, narrow, caption, d.Table(heads, rows))


def _order(gifts: Sequence[Source], targets: Sequence[Target]) -> list[int]:
    """Put each target beside the gifts that reach it, so that few lines cross; what has no face stands last."""

    def beside(n: int) -> tuple[int, bool, Fraction, int]:
        total = sum(gift.to[n] for gift in gifts)
        middle = Fraction(sum(place * gift.to[n] for place, gift in enumerate(gifts)), total or 1)
        return ("animal", "fee", "waiting").index(targets[n].kind), not targets[n].species, middle, n

    return sorted(range(len(targets)), key=beside)


def _fitting(counts, room):
    """Choose the frame that keeps to the room, and its height: the usual one, a closer one, that one made smaller."""
    usual, close = _needs(WIDE, counts), _needs(CLOSE, counts)
    if room is None or usual <= room:
        return WIDE, usual
    if close <= room:
        return CLOSE, Fraction(room)
    wider = (WIDE.width * close / room).__ceil__() - WIDE.width
    return replace(CLOSE, width=CLOSE.width + wider, end=CLOSE.end + wider), close


def _needs(frame, counts):
    gap, leaving, arriving = _bundles(counts)
    gifts = _height(leaving, gap, frame.gift, frame.between_gifts)
    return max(gifts, _height(arriving, gap, frame.least, frame.between))


def _bundles(counts):
    """Return how far two lines stand apart, and how many leave each gift and reach each target."""
    leaving, arriving = [sum(row) for row in counts], [sum(column) for column in zip(*counts, strict=True)]
    return min(Fraction(242, 100), Fraction(360, max(sum(leaving), 1))), leaving, arriving


def _drawing(frame, title, desc, gifts, targets, sums, counts, digits, height):
    gap, leaving, arriving = _bundles(counts)
    left = _tops(leaving, gap, frame.gift, height)
    right = _tops(arriving, gap, frame.least, height)
    shapes = [*_threads(frame, targets, counts, left, right, gap)]
    for gift, row, top in zip(gifts, counts, left, strict=True):
        shapes += _gift(frame, gift, sum(row), top, gap, digits)
    for target, amount, count, top in zip(targets, sums, arriving, right, strict=True):
        shapes += _target(frame, target, amount, count, top, gap, digits)
    return d.Drawing(frame.width, int(height) + 2, title, desc, tuple(shapes))


def _rooms(counts, gap, least):
    """Return the room that each bundle of lines takes: a thin one still needs its words beside it."""
    return [max(gap * max(count - 1, 0), Fraction(least)) for count in counts]


def _height(counts, gap, least, between):
    rooms = _rooms(counts, gap, least)
    return sum(rooms) + between * (len(rooms) - 1) + 12


def _tops(counts, gap, least, height):
    """Return the top of each bundle's lines, the bundles spread evenly over the height, thin ones in mid-row."""
    rooms = _rooms(counts, gap, least)
    spare = height - 12 - sum(rooms)
    between = spare / (len(rooms) - 1) if len(rooms) > 1 else Fraction(0)
    down = Fraction(6) if len(rooms) > 1 else 6 + spare / 2
    tops = []
    for room, count in zip(rooms, counts, strict=True):
        tops.append(down + (room - gap * max(count - 1, 0)) / 2)
        down += room + between
    return tops


def _threads(frame, targets, counts, left, right, gap):
    arrived = [0] * len(targets)
    bend = (
        frame.start + (frame.end - frame.start) * Fraction(46, 100),
        frame.start + (frame.end - frame.start) * Fraction(54, 100),
    )
    for row, top in zip(counts, left, strict=True):
        left_here = 0
        for number, target in enumerate(targets):
            strokes = []
            for _ in range(row[number]):
                a, b = d.at(top + gap * left_here), d.at(right[number] + gap * arrived[number])
                strokes.append(f"M{frame.start} {a}C{d.at(bend[0])} {a} {d.at(bend[1])} {b} {frame.end} {b}")
                left_here += 1
                arrived[number] += 1
            if strokes:
                yield d.Path("".join(strokes), LINE[target.kind])


def _gift(frame, gift, count, top, gap, digits):
    bottom = top + gap * max(count - 1, 0)
    middle = (top + bottom) / 2
    yield d.line(frame.start - 5, top - 1, frame.start - 5, bottom + 1, BRACKET)
    if frame.in_one_line:
        label = f"{gift.when}, {gift.fund}"
        yield d.text(0, middle - 1, d.written(gift.amount_minor, digits), frame.big)
        yield d.text(0, middle + 15, label if len(label) <= LONGEST_LABEL else gift.when, d.LABEL)
        return
    yield d.text(0, middle - 8, d.written(gift.amount_minor, digits), frame.big)
    yield d.text(0, middle + 9, gift.when if frame.with_beasts else _short(gift.when), d.LABEL)
    yield d.text(0, middle + 24, gift.fund if frame.with_beasts else "", d.LABEL)


def _short(when: str) -> str:
    """Cut a long month where there is little room.

    >>> _short("September 21"), _short("May 3")
    ('Sep 21', 'May 3')
    """
    month, _, rest = when.partition(" ")
    return f"{month[:3]} {rest}" if len(month) > 4 else when


def _target(frame, target, amount, count, top, gap, digits):
    bottom = top + gap * max(count - 1, 0)
    middle = (top + bottom) / 2
    yield d.line(frame.end + 5, top - 1, frame.end + 5, bottom + 1, BRACKET)
    name = frame.name if target.kind == "animal" else QUIET
    yield d.text(frame.end + 14, middle - 2, target.words, name)
    yield d.text(frame.end + 14, middle + 14, d.written(amount, digits), d.AMOUNT)
    if frame.with_beasts and target.species:
        box = beast_of(target.species)
        width, height = SIZES[box.name]
        scale = min(Fraction(66, width), Fraction(frame.beast, height))
        yield Beast(
            d.at(frame.width - width * scale), d.at(middle - height * scale / 2), f"{float(scale):.3f}", box.template
        )
