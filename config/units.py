"""How a quantity is written with its unit, such as "2 boxes" or "0.5 ml"."""

from decimal import Decimal

HISSING = ("s", "x", "z", "ch", "sh")


def with_unit(quantity: Decimal | int, unit: str) -> str:
    """Write a quantity without needless zeros and its unit in the number that fits.

    Symbols of measure ("ml", "kg", "cm") and words that are many already stay as they are.

    >>> with_unit(Decimal("2.000"), "box"), with_unit(Decimal("0.5"), "tablet"), with_unit(12, "ml")
    ('2 boxes', '0.5 tablets', '12 ml')
    >>> with_unit(1, "roll")
    '1 roll'
    >>> with_unit(3, "pair of gloves"), with_unit(3, "tablets"), with_unit(2, "battery")
    ('3 pairs of gloves', '3 tablets', '2 batteries')
    """
    number = f"{Decimal(quantity).normalize():f}"
    return f"{number} {unit if Decimal(quantity) == 1 else _many(unit)}".strip()


def _many(unit: str) -> str:
    head, *rest = unit.split(" ", 1)
    if len(head) <= 2 or (head.endswith("s") and not head.endswith("ss")):
        return unit
    if head.endswith("y") and head[-2] not in "aeiou":
        head = f"{head[:-1]}ies"
    else:
        head += "es" if head.endswith(HISSING) else "s"
    return " ".join([head, *rest])
