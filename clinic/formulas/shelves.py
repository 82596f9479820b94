"""What is left of each lot in whole numbers, and how it moves when something is taken: the shelf as it is kept.

Quantities are whole millionths of the supply's unit. What a use costs is an exact Fraction of minor units; what stays
with a lot is kept in whole millionths of a minor unit, so that over all moves not a millionth is gained or lost. A lot
that was never leveled keeps its own price exactly, however often it is used.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from clinic.formulas import stock
from clinic.formulas.stock import Part
from ledger.formulas import money

MILLION = 1_000_000


@dataclass(frozen=True)
class LotLeft:
    """What is left of a lot: `left` of its `quantity`, `left_cost` of its money, of it `left_donated` given."""

    lot_id: int
    arrived_on: date
    quantity: int
    cost_minor: int
    is_donated: bool
    left: int
    left_cost: int
    left_donated: int
    is_averaged: bool = False

    def worth(self, quantity: int) -> tuple[Fraction, Fraction]:
        """Return what so much of it costs in minor units, and what of that was given: exact."""
        if self.is_averaged:
            whole = self.left * MILLION
            return Fraction(self.left_cost * quantity, whole), Fraction(self.left_donated * quantity, whole)
        cost = Fraction(self.cost_minor * quantity, self.quantity)
        return cost, cost if self.is_donated else Fraction(0)

    @property
    def part(self) -> Part:
        return Part(str(self.lot_id), self.arrived_on, Fraction(self.left, MILLION), *self.worth(self.left))


@dataclass(frozen=True)
class LotMove:
    """What leaves a lot (negative), or what of its money goes to its neighbors when they are leveled."""

    lot_id: int
    quantity: int
    cost: int
    donated: int

    @property
    def levels(self) -> bool:
        return self.quantity == 0


@dataclass(frozen=True)
class Taken:
    """What a use costs in minor units, the donated part of it, how the lots move, and what they are afterwards."""

    cost: Fraction
    donated: Fraction
    moves: tuple[LotMove, ...]
    left: tuple[LotLeft, ...]


def on_hand(lots: Sequence[LotLeft], on: date = date.max) -> int:
    """Return how much there is on a day, in millionths of the unit."""
    return sum(lot.left for lot in lots if lot.arrived_on <= on)


def take(*, lots: Sequence[LotLeft], quantity: int, on: date, method: str = stock.FIRST_IN_FIRST_OUT) -> Taken:
    """Take `quantity` millionths from the lots that had arrived by `on`, the oldest first.

    >>> lot = LotLeft(1, date(2026, 10, 1), 3_000_000, 100, False, 3_000_000, 100_000_000, 0)
    >>> taken = take(lots=[lot], quantity=1_000_000, on=date(2026, 10, 2))
    >>> taken.cost, taken.moves[0].cost, taken.left[0].left_cost
    (Fraction(100, 3), -33333333, 66666667)

    :raises StockImpossible: when there is not enough of it on that day.
    """
    leveled, moves = _level(lots) if method == stock.MOVING_AVERAGE and lots else (tuple(lots), ())
    pieces = _pieces(leveled, quantity, on)
    after = tuple(_less(lot, pieces[lot.lot_id]) if lot.lot_id in pieces else lot for lot in leveled)
    by_average = on_hand(lots) if method == stock.MOVING_AVERAGE else 0
    worths = [lot.worth(lot.left if by_average else pieces.get(lot.lot_id, 0)) for lot in lots]
    share = Fraction(quantity, by_average) if by_average else 1
    return Taken(
        cost=sum((cost for cost, _ in worths), Fraction(0)) * share,
        donated=sum((donated for _, donated in worths), Fraction(0)) * share,
        moves=(*moves, *_between(leveled, after)),
        left=after,
    )


def _pieces(lots: Sequence[LotLeft], quantity: int, on: date) -> dict[int, int]:
    """Return what goes from which lot, the oldest first."""
    pieces: dict[int, int] = {}
    for lot in sorted(lots, key=lambda lot: lot.arrived_on):
        if not quantity or lot.arrived_on > on:
            break
        pieces[lot.lot_id] = min(lot.left, quantity)
        quantity -= pieces[lot.lot_id]
    if quantity:
        raise stock.StockImpossible("More would be taken than is on hand on that day.")
    return pieces


def _less(lot: LotLeft, quantity: int) -> LotLeft:
    left = lot.left - quantity
    cost, donated = (_rounded(amount) for amount in lot.worth(left))
    return replace(lot, left=left, left_cost=min(cost, lot.left_cost), left_donated=min(donated, lot.left_donated))


def _rounded(minor: Fraction) -> int:
    """Round zero or more minor units to millionths, half up."""
    return (2 * MILLION * minor.numerator + minor.denominator) // (2 * minor.denominator)


def _level(lots: Sequence[LotLeft]) -> tuple[tuple[LotLeft, ...], tuple[LotMove, ...]]:
    """Level the lots' money by what is left of each; the newest one takes what rounding leaves over."""
    parts = stock.level(tuple(lot.part for lot in lots))
    costs = [money.half_up(part.cost * MILLION) for part in parts]
    donated = [money.half_up(part.donated * MILLION) for part in parts]
    if all(abs(cost - lot.left_cost) <= 1 for cost, lot in zip(costs, lots, strict=True)) and all(
        abs(given - lot.left_donated) <= 1 for given, lot in zip(donated, lots, strict=True)
    ):
        return tuple(lots), ()
    costs[-1] += sum(lot.left_cost for lot in lots) - sum(costs)
    donated[-1] += sum(lot.left_donated for lot in lots) - sum(donated)
    after = tuple(
        replace(lot, left_cost=cost, left_donated=min(given, cost), is_averaged=True)
        for lot, cost, given in zip(lots, costs, donated, strict=True)
    )
    return after, tuple(_move(before, now) for before, now in zip(lots, after, strict=True))


def _between(before: Sequence[LotLeft], after: Sequence[LotLeft]) -> tuple[LotMove, ...]:
    return tuple(_move(was, now) for was, now in zip(before, after, strict=True) if was != now)


def _move(was: LotLeft, now: LotLeft) -> LotMove:
    return LotMove(now.lot_id, now.left - was.left, now.left_cost - was.left_cost, now.left_donated - was.left_donated)
