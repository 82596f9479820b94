"""What every chart is made of: pens, letters, shapes, and a frame with a table."""

from dataclasses import dataclass
from fractions import Fraction

MINUS = "\u2212"
Number = int | Fraction

# Presentation attributes cannot read a stylesheet's variables on paper; a test holds these to tokens.css.
INK, SOFT, PENCIL, RULE, HAIR = "#221e19", "#544c41", "#6a6155", "#8a7f6d", "#d8cdb8"
PAPER, WASH, HEED = "#f8f4ea", "#efe8d8", "#9c2d1b"

DISPLAY = "Iowan Old Style, Palatino Linotype, Palatino, Liberation Serif, Times New Roman, serif"
FIGURES = "Charter, Bitstream Charter, Cambria, DejaVu Serif Condensed, Noto Serif, serif"
SANS = "Seravek, Gill Sans Nova, Segoe UI, Source Sans 3, DejaVu Sans Condensed, Liberation Sans, sans-serif"


@dataclass(frozen=True)
class Pen:
    stroke: str = "none"
    width: str = "1"
    fill: str = "none"
    dash: str = ""


GRID = Pen(HAIR)
ZERO = Pen(INK)
ACTUAL = Pen(INK, "2.2")
THIN = Pen(INK, "1.2")
POSSIBLE = Pen(PENCIL, "1.6", dash="5 3")
LIMIT = Pen(RULE, dash="4 3")
HATCH = Pen(RULE, "0.9")
DROP = Pen(HAIR, dash="2 3")
FULL = Pen(INK, fill=INK)
OPEN = Pen(INK, "1.4", PAPER)
LATER = Pen(PENCIL, "1.4", PAPER)
ALARM = Pen(HEED, "1.4", HEED)


@dataclass(frozen=True)
class Letters:
    family: str
    size: str
    color: str
    slant: bool = False
    bold: bool = False


AMOUNT = Letters(FIGURES, "13", INK)
SCALE = Letters(FIGURES, "12", SOFT)
LABEL = Letters(SANS, "12", SOFT)
PLAIN = Letters(SANS, "12", INK)
WARN = Letters(SANS, "12", HEED)
REMARK = Letters(DISPLAY, "14", SOFT, slant=True)


@dataclass(frozen=True)
class Path:
    d: str
    pen: Pen


@dataclass(frozen=True)
class Dot:
    x: str
    y: str
    r: str
    pen: Pen
    is_dot: bool = True


@dataclass(frozen=True)
class Text:
    x: str
    y: str
    words: str
    letters: Letters
    anchor: str = "start"
    is_text: bool = True


@dataclass(frozen=True)
class Drawing:
    width: int
    height: int
    title: str
    desc: str
    shapes: tuple[object, ...]


@dataclass(frozen=True)
class Row:
    words: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    heads: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()


@dataclass(frozen=True)
class KeyPart:
    words: str
    shapes: tuple[object, ...]


@dataclass(frozen=True)
class Chart:
    """One chart: both drawings, a sentence under them, and the same figures as a table."""

    name: str
    title: str
    desc: str
    wide: Drawing
    narrow: Drawing
    caption: str = ""
    table: Table = Table()
    key: tuple[KeyPart, ...] = ()

    @property
    def narrow_name(self) -> str:
        return f"{self.name}-n"


def at(value: Number) -> str:
    """Write a coordinate with one decimal, rounded half up.

    >>> at(Fraction(1, 3)), at(12), at(Fraction(-5, 4)), at(Fraction(1, 20))
    ('0.3', '12', '-1.2', '0.1')
    """
    tenths = (Fraction(value) * 10 + Fraction(1, 2)).__floor__()
    whole, part = divmod(abs(tenths), 10)
    sign = "-" if tenths < 0 else ""
    return f"{sign}{whole}.{part}" if part else f"{sign}{whole}"


def written(amount_minor: int, digits: int) -> str:
    """Write minor units for a table: a minus sign, thousands, and the currency's decimals.

    >>> written(-123898, 2), written(5, 0)
    ('−1,238.98', '5')
    """
    whole, part = divmod(abs(amount_minor), 10**digits)
    return f"{MINUS if amount_minor < 0 else ''}{whole:,}" + (f".{part:0{digits}d}" if digits else "")


def line(x1: Number, y1: Number, x2: Number, y2: Number, pen: Pen) -> Path:
    return Path(f"M{at(x1)} {at(y1)}L{at(x2)} {at(y2)}", pen)


def box(x: Number, y: Number, width: Number, height: Number, pen: Pen) -> Path:
    return Path(f"M{at(x)} {at(y)}h{at(width)}v{at(height)}h{at(-Fraction(width))}z", pen)


def diamond(x: Number, y: Number, half: Number, pen: Pen) -> Path:
    corners = ((x, y - half), (x + half, y), (x, y + half), (x - half, y))
    return Path("M" + "L".join(f"{at(a)} {at(b)}" for a, b in corners) + "Z", pen)


def text(x: Number, y: Number, words: str, letters: Letters, anchor: str = "start") -> Text:
    return Text(at(x), at(y), words, letters, anchor)


def hatched(x: Number, y: Number, width: Number, height: Number, gap: int = 5) -> Path:
    """Rule a box at 45 degrees. The strokes lie on one grid, so that neighboring boxes read as one area.

    >>> hatched(0, 0, 10, 5).d
    'M0 5L5 0M5 5L10 0'
    >>> hatched(3, 0, 2, 5).d
    'M3 2L5 0'
    """
    strokes = []
    rung = -(-(x + y) // gap) * gap
    while rung <= x + y + width + height:
        left, right = max(x, rung - y - height), min(x + width, rung - y)
        if left < right:
            strokes.append(f"M{at(left)} {at(rung - left)}L{at(right)} {at(rung - right)}")
        rung += gap
    return Path("".join(strokes), HATCH)
