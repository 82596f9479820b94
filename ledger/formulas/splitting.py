"""Splits a whole amount by weights so that the parts sum to it exactly.

Largest remainder (Hamilton's method; electowiki.org/wiki/Hamilton_method): each part first gets the whole
units of its exact quota, then the units left over go one each to the largest remainders. A tie goes to the
earlier part, so that the same split printed again never differs.
"""

from collections.abc import Sequence
from fractions import Fraction
from math import lcm


class NothingToSplitBy(ValueError):
    """Weights by which nothing can be split: none at all, one below zero, or all zero."""


def largest_remainder(total: int, weights: Sequence[Fraction | int]) -> list[int]:
    """Split `total` whole units over `weights`; a negative total mirrors the positive one.

    >>> largest_remainder(102_759, [20, 70, 5, 5])
    [20552, 71931, 5138, 5138]
    >>> largest_remainder(476, [Fraction(2, 5), Fraction(3, 5)])
    [190, 286]
    >>> largest_remainder(-476, [2, 3]), largest_remainder(1, [1, 1, 1])
    ([-190, -286], [1, 0, 0])

    :raises NothingToSplitBy: when no weight is positive or one is negative.
    """
    shared = lcm(*(weight.denominator for weight in weights))
    counts = [weight.numerator * (shared // weight.denominator) for weight in weights]
    whole = sum(counts)
    if whole <= 0 or min(counts) < 0:
        raise NothingToSplitBy("To split an amount, give weights of zero or more, at least one of them above zero.")
    if total < 0:
        return [-part for part in largest_remainder(-total, weights)]
    quotas = [divmod(count * total, whole) for count in counts]
    parts = [units for units, _ in quotas]
    by_remainder = sorted(range(len(quotas)), key=lambda at: (-quotas[at][1], at))
    for at in by_remainder[: total - sum(parts)]:
        parts[at] += 1
    return parts
