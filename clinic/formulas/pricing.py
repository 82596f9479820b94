"""From a price per unit to a charge in three figures, rounded once.

Amounts go in as Fractions of the currency's main unit and come out as integer minor units, half up
(half away from zero), per charge. Source: the house's rules C1, C2 and C4 (DEVELOPERS.md); the rounding is that of
Council Regulation (EC) 1103/97, article 5 (half a minor unit is rounded up).
"""

from dataclasses import dataclass
from fractions import Fraction

from ledger.formulas import money


@dataclass(frozen=True)
class Figures:
    """The three figures of a charge in minor units, what of its cost came free, and what unpaid time keeps from it."""

    cost_minor: int
    usual_minor: int
    asked_minor: int
    free_minor: int = 0
    time_minor: int = 0


def charge(
    *,
    quantity: Fraction,
    cost: Fraction,
    usual_fee: Fraction,
    asked: Fraction,
    currency: str,
    free: Fraction = Fraction(0),
    free_time: Fraction = Fraction(0),
) -> Figures:
    """Price `quantity` units at the three prices per unit; `free` is the part of a unit's cost given free.

    `free_time` is the part of `free` that was somebody's work: what is not asked for it is unpaid time.

    :raises ValueError: when a figure is negative, more is free than it costs, or more is asked than usual.

    >>> charge(quantity=Fraction(2), cost=Fraction("1.6"), usual_fee=Fraction(5), asked=Fraction(2), currency="USD")
    Figures(cost_minor=320, usual_minor=1000, asked_minor=400, free_minor=0, time_minor=0)

    Asked 18.00, cost 15.40 of which a donated bandage is 6.20: 18.00 x 9.20 / 15.40 = 10.75.

    >>> charge(quantity=Fraction(1), cost=Fraction("15.4"), usual_fee=Fraction(30), asked=Fraction(18), currency="USD",
    ...        free=Fraction("6.2")).asked_minor
    1075
    """
    if min(quantity, cost, usual_fee, asked, free) < 0:
        raise ValueError("A price or a quantity below zero cannot be charged.")
    if free > cost:
        raise ValueError("More is marked as free than the line costs.")
    if asked > usual_fee:
        raise ValueError("More is asked of the funds than a client would pay.")
    if not 0 <= free_time <= free:
        raise ValueError("The work given free is a part of what came free.")
    lowered = asked * (cost - free) / cost if free else asked
    asked_minor = money.to_minor(lowered * quantity, currency)
    not_asked = money.to_minor(asked * quantity, currency) - asked_minor
    return Figures(
        cost_minor=money.to_minor(cost * quantity, currency),
        usual_minor=money.to_minor(usual_fee * quantity, currency),
        asked_minor=asked_minor,
        free_minor=money.to_minor(free * quantity, currency) if free else 0,
        time_minor=money.half_up(not_asked * free_time / free) if free_time else 0,
    )


def asked_share(*, percent: Fraction, of: Fraction, usual_fee: Fraction) -> Fraction:
    """Return what is asked as a share of another figure; never more than a client would pay (C2).

    >>> asked_share(percent=Fraction(40), of=Fraction("30"), usual_fee=Fraction(30))
    Fraction(12, 1)
    >>> asked_share(percent=Fraction(150), of=Fraction("24"), usual_fee=Fraction(30))
    Fraction(30, 1)
    """
    if min(percent, of, usual_fee) < 0:
        raise ValueError("A share of a price is zero or more.")
    return min(of * percent / 100, usual_fee)
