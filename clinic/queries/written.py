"""Exact numbers written for people: as many digits as are said, or as they have."""

from decimal import Decimal
from fractions import Fraction

from ledger.formulas import money

FINER = 4  # a minute costs little: it is shown with four more digits, and never rounded on the way


def shown(exact: Fraction, digits: int = 2) -> Decimal:
    """Write a Fraction to so many digits, half up, without trailing zeros."""
    rounded = Decimal(money.half_up(exact * 10**digits)).scaleb(-digits)
    return rounded.quantize(Decimal(1)) if rounded == rounded.to_integral_value() else rounded.normalize()


def quantity_words(quantity: Fraction, digits: int = 3) -> str:
    return f"{shown(quantity, digits):f}"


def at_least(amount: Fraction, digits: int, finer: int) -> Decimal:
    """Write an amount with the currency's digits, and up to so many more where it has them."""
    exact = shown(amount, digits + finer)
    least = Decimal(1).scaleb(-digits)
    return exact.quantize(least) if exact == exact.quantize(least) else exact
