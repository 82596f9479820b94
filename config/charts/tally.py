"""A tally: one stroke for each time a day, the fifth across its four."""

from dataclasses import dataclass

from config.charts.drawing import INK, RULE


@dataclass(frozen=True)
class Stroke:
    d: str
    color: str
    width: str


@dataclass(frozen=True)
class Tally:
    width: int
    strokes: tuple[Stroke, ...]


def tally(given: int, due: int) -> Tally:
    """Draw `due` strokes, the first `given` in ink; more given than due adds strokes in ink.

    >>> tally(1, 2).width, [stroke.d for stroke in tally(1, 2).strokes]
    (12, ['M3.5 2.5v13', 'M8.5 2.5v13'])
    >>> tally(5, 5).strokes[4].d, tally(5, 5).width
    ('M1 13.5L21 4.5', 22)
    """
    strokes, count = [], max(given, due, 1)
    for n in range(count):
        bundle, place = divmod(n, 5)
        left = 26 * bundle
        d = f"M{left + 1} 13.5L{left + 21} 4.5" if place == 4 else f"M{left + 5 * place + 3}.5 2.5v13"
        strokes.append(Stroke(d, INK, "2.1") if n < given else Stroke(d, RULE, "1.2"))
    bundles, rest = divmod(count, 5)
    return Tally(26 * bundles + (5 * rest + 2 if rest else -4), tuple(strokes))
