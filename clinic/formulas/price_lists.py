"""Raises the figures of a price by a percentage, exactly, written no finer than they were."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from ledger.formulas import money


def decimals(amount: Decimal) -> int:
    """Return how many digits behind the point an amount needs.

    >>> [decimals(Decimal(amount)) for amount in ("12", "9.850000", "0.125")]
    [0, 2, 3]
    """
    return max(0, -int(amount.normalize().as_tuple().exponent))


def raised(*, figures: Sequence[Decimal], percent: Decimal, least_digits: int) -> tuple[Decimal, ...]:
    """Return each figure x (100 + percent) / 100, half up to the digits of the finest of them.

    All figures of one price are written equally fine, so what was not above another is not above it afterwards.

    >>> raised(figures=[Decimal("9.85"), Decimal("26"), Decimal("12")], percent=Decimal("3.5"), least_digits=2)
    (Decimal('10.19'), Decimal('26.91'), Decimal('12.42'))
    """
    digits = max([least_digits, *map(decimals, figures)])
    factor = (100 + Fraction(percent)) / 100
    return tuple(Decimal(money.half_up(Fraction(figure) * factor * 10**digits)).scaleb(-digits) for figure in figures)
