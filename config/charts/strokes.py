"""How far a long job has come: one stroke for each piece of it, a diamond where one failed."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from config.charts import drawing as d

DONE, FAILED, WAITS = True, False, None  # what has become of a piece
HEIGHT, FOOT = 28, 20
MADE, TO_COME = d.Pen(d.INK, "1.2"), d.Pen(d.RULE, "0.8")
FAULT = d.Pen(d.PAPER, "1.5", d.HEED)


@dataclass(frozen=True)
class _Frame:
    width: int
    most: int  # strokes


WIDE, NARROW = _Frame(1000, 500), _Frame(328, 164)
APART = 8  # no further, so that a short job is a short row


def strokes(*, name: str, title: str, pieces: Sequence[bool | None], word: str) -> d.Chart:
    """Draw `pieces` in their order: DONE in ink, FAILED under a diamond, WAITS fainter and shorter.

    Where they are more than strokes can stand, one stroke stands for several: in ink when none of them waits.
    """

    def drawn(frame: _Frame) -> d.Drawing:
        each = max(-(-len(pieces) // frame.most), 1)
        return d.Drawing(
            frame.width, HEIGHT, title, _desc(each, word), tuple(_shapes(frame.width, together(pieces, each)))
        )

    wide = drawn(WIDE)
    return d.Chart(name, title, wide.desc, wide, drawn(NARROW))


def together(pieces: Sequence[bool | None], each: int) -> tuple[bool | None, ...]:
    """Return what each stroke shows that stands for so many pieces.

    >>> together([DONE, FAILED, WAITS], 1)
    (True, False, None)
    >>> together([DONE, DONE, FAILED, DONE, DONE, WAITS, WAITS], 2)
    (True, False, None, None)
    """
    heaps = [pieces[first : first + each] for first in range(0, len(pieces), each)]
    return tuple(FAILED if FAILED in heap else WAITS if WAITS in heap else DONE for heap in heaps)


def _desc(each: int, word: str) -> str:
    """
    >>> _desc(1, "paper"), _desc(3, "paper")
    ('One stroke for each paper.', 'One stroke for 3 papers.')
    """
    return f"One stroke for each {word}." if each == 1 else f"One stroke for {each} {word}s."


def _shapes(width, shown):
    gap = min(Fraction(width - 2, max(len(shown), 1)), Fraction(APART))
    places = [(1 + gap * n + gap / 2, state) for n, state in enumerate(shown)]
    for top, pen, stems in (
        (8, TO_COME, [x for x, state in places if state is WAITS]),
        (4, MADE, [x for x, state in places if state is not WAITS]),
    ):
        if stems:
            yield d.Path("".join(f"M{d.at(x)} {top}V{FOOT}" for x in stems), pen)
    yield d.line(0, FOOT + 4, 2 + gap * len(shown), FOOT + 4, d.ZERO)
    for x, state in places:
        if state is FAILED:
            yield d.diamond(x, (4 + FOOT) // 2, 6, FAULT)
