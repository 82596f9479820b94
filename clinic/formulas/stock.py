"""What supplies cost when they are used: first in, first out or moving average, kept after every event, exact."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

FIRST_IN_FIRST_OUT = "first_in_first_out"
MOVING_AVERAGE = "moving_average"


class StockImpossible(ValueError):
    """An event that no shelf can hold."""


@dataclass(frozen=True)
class Part:
    """A quantity from one lot, its money, and how much of that money a donor gave."""

    lot: str
    arrived_on: date
    quantity: Fraction
    cost: Fraction
    donated: Fraction = Fraction(0)


@dataclass(frozen=True)
class Lot:
    """What arrived: the quantity and the cost of all of it."""

    key: str
    on: date
    quantity: Fraction
    cost: Fraction
    is_donated: bool = False


@dataclass(frozen=True)
class Use:
    """What was taken from the shelf."""

    key: str
    on: date
    quantity: Fraction


@dataclass(frozen=True)
class Count:
    """What was found on the shelf; more than expected comes in without cost."""

    key: str
    on: date
    quantity: Fraction


@dataclass(frozen=True)
class Reversal:
    """What an earlier use or count took is put back at the money it left with."""

    key: str
    on: date
    of: str


@dataclass(frozen=True)
class Stock:
    """What each use or count took, and what is left."""

    taken: dict[str, tuple[Part, ...]]
    left: tuple[Part, ...]


def convert(*, quantity: Fraction, unit: str, to: str, packs: dict[str, Fraction]) -> Fraction:
    """Turn a quantity in packs into the unit `to` that the packs are counted in.

    >>> convert(quantity=Fraction(2), unit="box", to="piece", packs={"box": Fraction(12)})
    Fraction(24, 1)
    """
    if unit == to:
        return quantity
    if packs.get(unit, 0) <= 0:
        raise StockImpossible(f"A {unit} does not convert to {to}: nothing says how many {to} it holds.")
    return quantity * packs[unit]


def keep(*, events: Iterable[Lot | Use | Count | Reversal], method: str = FIRST_IN_FIRST_OUT) -> Stock:
    """Follow the events in the order in which they were recorded.

    :raises StockImpossible: when one of them cannot have happened, with the reason.
    """
    if method not in (FIRST_IN_FIRST_OUT, MOVING_AVERAGE):
        raise StockImpossible(f"Nothing is known of costing supplies by {method}.")
    shelf: tuple[Part, ...] = ()
    taken: dict[str, tuple[Part, ...]] = {}
    returned: set[str] = set()
    seen: set[str] = set()
    for event in events:
        if event.key in seen:
            raise StockImpossible(f"{event.key} stands in the list twice.")
        seen.add(event.key)
        if isinstance(event, Lot):
            shelf = (*shelf, _arrived(event))
        elif isinstance(event, Reversal):
            if not taken.get(event.of) or event.of in returned:
                raise StockImpossible(f"{event.of} took nothing that can still be put back.")
            returned.add(event.of)
            shelf = (*shelf, *taken[event.of])
        else:
            taken[event.key], shelf = _take(shelf, event)
        shelf = _in_order(shelf)
        if method == MOVING_AVERAGE:
            shelf = level(shelf)
    return Stock(taken=taken, left=shelf)


def _arrived(lot: Lot) -> Part:
    if lot.quantity <= 0 or lot.cost < 0:
        raise StockImpossible(f"The lot {lot.key} needs a quantity above zero and a cost not below zero.")
    return Part(lot.key, lot.on, lot.quantity, lot.cost, lot.cost if lot.is_donated else Fraction(0))


def _take(shelf: tuple[Part, ...], event: Use | Count) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    if event.quantity < 0:
        raise StockImpossible(f"{event.key} is below zero: a shelf cannot hold less than nothing.")
    if isinstance(event, Use):
        return _split(shelf, event.quantity, event)
    missing = sum((part.quantity for part in shelf), Fraction(0)) - event.quantity
    if missing >= 0:
        return _split(shelf, missing, event)
    return (), (*shelf, Part(event.key, event.on, -missing, Fraction(0)))


def _split(
    shelf: tuple[Part, ...], quantity: Fraction, event: Use | Count
) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    taken, left = [], []
    for part in shelf:
        piece = min(part.quantity, quantity) if part.arrived_on <= event.on else Fraction(0)
        quantity -= piece
        if piece:
            taken.append(_share(part, piece))
        if piece < part.quantity:
            left.append(_share(part, part.quantity - piece))
    if quantity > sum((part.quantity for part in left), Fraction(0)):
        raise StockImpossible(f"{event.key} takes more than is on hand.")
    if quantity:
        raise StockImpossible(f"{event.key} would take from a lot before it arrived.")
    return tuple(taken), tuple(left)


def _share(part: Part, quantity: Fraction) -> Part:
    if quantity == part.quantity:
        return part
    ratio = Fraction(quantity) / part.quantity
    return replace(part, quantity=quantity, cost=part.cost * ratio, donated=part.donated * ratio)


def _in_order(shelf: tuple[Part, ...]) -> tuple[Part, ...]:
    return tuple(sorted(shelf, key=lambda part: part.arrived_on))


def level(shelf: tuple[Part, ...]) -> tuple[Part, ...]:
    """Give every part the average price of the shelf; the money of all stays what it was."""
    quantity = sum((part.quantity for part in shelf), Fraction(0))
    cost = sum((part.cost for part in shelf), Fraction(0))
    donated = sum((part.donated for part in shelf), Fraction(0))
    return tuple(
        replace(part, cost=cost * part.quantity / quantity, donated=donated * part.quantity / quantity)
        for part in shelf
    )
