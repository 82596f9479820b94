"""Shares one charge over its payers, in order, to the minor unit.

The order is the house's own: (1) gifts that name the animal, (2) the partner's agreement, (3) funds whose
purpose fits, (4) the partner's fund, (5) general money. Money that its givers restricted is met first, and
what a named outside party pays for releases nothing (FAS 116 par. 17, ASC 958-205-45). A payer gives at most what it
can; what nobody can give is left to nobody. A ceiling or a limit reaches this module as a smaller `most`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ledger.formulas.splitting import largest_remainder

NAMES_ANIMAL, AGREEMENT, PURPOSE, PARTNER, GENERAL = 1, 2, 3, 4, 5
NOBODY = 6


@dataclass(frozen=True, kw_only=True)
class Payer:
    """Who may pay, at which rank, and at most how much (minor units; None: whatever is asked).

    An agreement pays `percent` (a part of one) of the whole charge or of what rank 1 leaves over.
    """

    key: int
    rank: int
    most: int | None = None
    percent: Fraction | None = None
    of_whole: bool = False


@dataclass(frozen=True, kw_only=True)
class Part:
    """What one payer pays of a charge; `key` is None for what nobody pays."""

    key: int | None
    rank: int
    amount_minor: int


def allocate(asked_minor: int, payers: Sequence[Payer]) -> tuple[Part, ...]:
    """Share `asked_minor` over `payers`, which stand in the order in which they pay.

    >>> leg = Payer(key=1, rank=NAMES_ANIMAL, most=480)
    >>> agreed = Payer(key=2, rank=AGREEMENT, percent=Fraction(40, 100))
    >>> wounds, general = Payer(key=3, rank=PURPOSE, most=5000), Payer(key=4, rank=GENERAL, most=0)
    >>> [(part.key, part.amount_minor) for part in allocate(956, [leg, agreed, wounds, general])]
    [(1, 480), (2, 190), (3, 286)]
    >>> [(part.key, part.amount_minor) for part in allocate(956, [leg])]
    [(1, 480), (None, 476)]

    :raises ValueError: when the asked amount is negative or the payers are out of order.
    """
    if asked_minor < 0:
        raise ValueError("A charge asks for nothing or more, never for less.")
    if [payer.rank for payer in payers] != sorted(payer.rank for payer in payers):
        raise ValueError("Payers stand in the order of their ranks.")
    rest, parts = asked_minor, []
    for payer in payers:
        wanted = rest if payer.percent is None else _agreed(asked_minor, rest, payer)
        paid = wanted if payer.most is None else min(wanted, max(payer.most, 0))
        if paid:
            parts.append(Part(key=payer.key, rank=payer.rank, amount_minor=paid))
            rest -= paid
    if rest:
        parts.append(Part(key=None, rank=NOBODY, amount_minor=rest))
    return tuple(parts)


def _agreed(asked_minor: int, rest: int, payer: Payer) -> int:
    assert payer.percent is not None
    of = asked_minor if payer.of_whole else rest
    return min(rest, largest_remainder(of, [payer.percent, 1 - payer.percent])[0])
