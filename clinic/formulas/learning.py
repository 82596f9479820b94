"""What finished cases say of a chance: updated by each result, with its interval; and how good forecasts were.

These are chances, not money: intervals are floats, good to nine digits. A chance is updated as a Beta from a
starting belief of whole cases (even: one healed, one not); the order of results cannot matter. Sources: Gelman
et al., Bayesian Data Analysis, ch. 2; Newcombe 1998 for the intervals of a rate; the score is the mean squared
distance between forecast and outcome.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import exp, lgamma, log, log1p, sqrt
from statistics import NormalDist

EVEN = (1, 1)
SHARE = 0.95


class ImpossibleCount(ValueError):
    """More healed than there were, or fewer than none."""


@dataclass(frozen=True, kw_only=True)
class Belief:
    """What `of` cases, `healed` of them healed, say of a chance."""

    healed: int
    of: int
    mean: Fraction
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Rate:
    """A rate seen, with its interval."""

    rate: Fraction
    low: float
    high: float


def updated(*, healed: int, of: int, start: tuple[int, int] = EVEN, share: float = SHARE) -> Belief | None:
    """Return what the cases say, beginning from `start` (healed, not healed); None where there is no case.

    >>> found = updated(healed=437, of=980)
    >>> found.mean == Fraction(438, 982), round(found.low, 6), round(found.high, 6)
    (True, 0.415065, 0.4772)
    >>> updated(healed=0, of=0) is None
    True
    """
    _check(healed, of)
    if of == 0:
        return None
    yes, no = start[0] + healed, start[1] + of - healed
    edge = (1 - share) / 2
    return Belief(
        healed=healed,
        of=of,
        mean=Fraction(yes, yes + no),
        low=_where(lambda x: _at_least(yes + no - 1, yes, x), edge),
        high=_where(lambda x: _at_least(yes + no - 1, yes, x), 1 - edge),
    )


def wilson(*, healed: int, of: int, share: float = SHARE) -> Rate | None:
    """Return the rate with Wilson's score interval, without continuity correction; None where there is no case.

    >>> found = wilson(healed=81, of=263)
    >>> round(found.low, 4), round(found.high, 4)
    (0.2553, 0.3662)
    """
    _check(healed, of)
    if of == 0:
        return None
    z = NormalDist().inv_cdf((1 + share) / 2)
    middle, spread = 2 * healed + z * z, z * sqrt(z * z + 4 * healed * (1 - healed / of))
    low = 0.0 if healed == 0 else (middle - spread) / (2 * (of + z * z))
    high = 1.0 if healed == of else (middle + spread) / (2 * (of + z * z))
    return Rate(rate=Fraction(healed, of), low=low, high=high)


def exact(*, healed: int, of: int, share: float = SHARE) -> Rate | None:
    """Return the rate with the exact interval: the chances under which what was seen is not yet too unlikely.

    >>> found = exact(healed=81, of=263)
    >>> round(found.low, 4), round(found.high, 4)
    (0.2527, 0.3676)
    """
    _check(healed, of)
    if of == 0:
        return None
    edge = (1 - share) / 2
    return Rate(
        rate=Fraction(healed, of),
        low=0.0 if healed == 0 else _where(lambda x: _at_least(of, healed, x), edge),
        high=1.0 if healed == of else _where(lambda x: _at_least(of, healed + 1, x), 1 - edge),
    )


def score(*, forecasts: Sequence[tuple[Fraction, bool]]) -> Fraction | None:
    """Return the mean squared distance of the forecasts from what happened: 0 is perfect, 1/4 is "even chances".

    >>> said = [Fraction(part, 100) for part in (27, 67, 83, 90)]
    >>> float(score(forecasts=list(zip(said, (True, True, False, True)))))
    0.335175
    """
    if not forecasts:
        return None
    return sum(((int(healed) - chance) ** 2 for chance, healed in forecasts), Fraction(0)) / len(forecasts)


def _check(healed: int, of: int) -> None:
    if not 0 <= healed <= of:
        raise ImpossibleCount("No more can have healed than there were.")


def _at_least(of: int, wanted: int, chance: float) -> float:
    """Return the chance of at least `wanted` successes in `of` tries: the incomplete beta function."""
    if wanted <= 0 or chance >= 1:
        return 1.0
    if chance <= 0:
        return 0.0
    if 2 * wanted > of:
        return sum(_exactly(of, k, chance) for k in range(of, wanted - 1, -1))
    return 1 - sum(_exactly(of, k, chance) for k in range(wanted))


def _exactly(of: int, k: int, chance: float) -> float:
    ways = lgamma(of + 1) - lgamma(k + 1) - lgamma(of - k + 1)
    return exp(ways + k * log(chance) + (of - k) * log1p(-chance))


def _where(rising: Callable[[float], float], wanted: float) -> float:
    """Return where a rising function of 0..1 reaches `wanted`, by halving."""
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        if rising(middle) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2
