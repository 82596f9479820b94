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
    wide, narrow = (
        d.Drawing(
            frame.width, HEIGHT, title, _desc(together(pieces, frame.most)[0], word), tuple(_shapes(frame, pieces))
        )
        for frame in (WIDE, NARROW)
    )
    return d.Chart(name, title, wide.desc, wide, narrow)


def together(pieces: Sequence[bool | None], most: int) -> tuple[int, tuple[bool | None, ...]]:
    """Return how many pieces a stroke stands for, and what each of at most `most` strokes shows.

    >>> together([DONE, FAILED, WAITS], most=3)
    (1, (True, False, None))
    >>> together([DONE, DONE, FAILED, DONE, DONE, WAITS, WAITS], most=4)
    (2, (True, False, None, None))
    """
    each = max(-(-len(pieces) // most), 1)
    heaps = [pieces[first : first + each] for first in range(0, len(pieces), each)]
    return each, tuple(FAILED if FAILED in heap else WAITS if WAITS in heap else DONE for heap in heaps)


def _desc(each: int, word: str) -> str:
    """
    >>> _desc(1, "paper"), _desc(3, "paper")
    ('One stroke for each paper.', 'One stroke for 3 papers.')
    """
    return f"One stroke for each {word}." if each == 1 else f"One stroke for {each} {word}s."


def _shapes(frame, pieces):
    _, shown = together(pieces, frame.most)
    gap = min(Fraction(frame.width - 2, max(len(shown), 1)), Fraction(APART))
    places = [(1 + gap * n + gap / 2, state) for n, state in enumerate(shown)]
    for state, top, pen in ((WAITS, 8, TO_COME), (DONE, 4, MADE), (FAILED, 4, MADE)):
        stems = "".join(f"M{d.at(x)} {top}V{FOOT}" for x, one in places if one is state)
        if stems:
            yield d.Path(stems, pen)
    yield d.line(0, FOOT + 4, 2 + gap * len(shown), FOOT + 4, d.ZERO)
    for x, state in places:
        if state is FAILED:
            yield d.diamond(x, (4 + FOOT) // 2, 6, FAULT)
