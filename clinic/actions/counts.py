"""Counting the shelf: what is really there, against what should be, with a reason where they differ.

Refusal
└── CountRefused
    ├── CountBelowZero    a shelf cannot hold less than nothing
    ├── CountUnexplained  more or less than expected, and nobody says why
    └── CountKeyUsed      the form came before with other content
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction

from clinic.actions.lots import hold
from clinic.actions.stock_use import row_of
from clinic.formulas import shelves
from clinic.formulas.shelves import MILLION, Taken
from clinic.models import StockCount, StockMove, Supply, SupplyLot, User
from clinic.queries.shelves import lots_left, units
from clinic.queries.stock_waiting import waiting
from config.refusal import Refusal
from config.units import with_unit
from ledger.actions import goods
from ledger.formulas import money
from ledger.queries.policies import policy


class CountRefused(Refusal):
    """Nothing was written; the shelf was left as it was."""


class CountBelowZero(CountRefused):
    field = "found"

    def __init__(self) -> None:
        super().__init__("A shelf cannot hold less than nothing. Write what is there, 0 where there is none.")


class CountUnexplained(CountRefused):
    field = "why"

    def __init__(self, expected: Decimal, unit: str) -> None:
        were = "was" if abs(expected) == 1 else "were"
        words = f"{with_unit(expected, unit)} {were} expected"
        if expected < 0:
            words = f"{with_unit(-expected, unit)} more {were} given to animals than the shelf held"
        super().__init__(
            f"{words}. Nothing was saved. "
            "Count once more; if it is right, say why it differs: broken, expired, not written down, not known."
        )


class CountKeyUsed(CountRefused):
    def __init__(self) -> None:
        super().__init__("This count was sent before with other content. Nothing was written twice; count anew.")


@transaction.atomic
def count(*, key: UUID, supply: Supply, found: Decimal, why: str, by: User, today: date, at: datetime) -> StockCount:
    """Write down what is on the shelf now, and move what is on hand to it.

    What was given to animals and is not signed off yet has left the shelf already, so it is not expected there. What is
    missing leaves the oldest lots at their cost; donated goods among it leave the books too. What is found above what
    was expected comes in at no cost.

    :raises CountRefused: when it is below zero, or differs and has no reason.
    """
    if found < 0:
        raise CountBelowZero
    hold()
    found_millionths = int(found * MILLION)
    known = StockCount.objects.filter(key=key).first()
    if known:
        if (known.supply_id, known.found_millionths) != (supply.pk, found_millionths):
            raise CountKeyUsed
        return known
    lots = lots_left([supply.pk]).get(supply.pk, ())
    unsigned = waiting(supplies=[supply.pk], today=today)
    expected = shelves.on_hand(lots) - unsigned.millionths[supply.pk]
    if found_millionths != expected and not why.strip():
        raise CountUnexplained(units(expected), supply.unit)
    counted = StockCount.objects.create(
        key=key,
        supply=supply,
        counted_on=today,
        found_millionths=found_millionths,
        expected_millionths=expected,
        why=why.strip(),
        by=by,
        at=at,
    )
    if found_millionths < expected:
        _lose(counted, lots, expected - found_millionths)
    if found_millionths > expected:
        _find(counted, found_millionths - expected, since=unsigned.oldest_on.get(supply.pk, today))
    return counted


def _find(counted: StockCount, millionths: int, *, since: date) -> None:
    """What is found was there already when the oldest care that waits for a signature used it."""
    SupplyLot.objects.create(
        key=uuid5(counted.key, "found"),
        supply=counted.supply,
        source=SupplyLot.Source.FOUND,
        arrived_on=since,
        quantity_millionths=millionths,
        written=with_unit(units(millionths), counted.supply.unit),
        cost_minor=0,
        count=counted,
        left_millionths=millionths,
        left_cost=0,
        by=counted.by,
        at=counted.at,
    )


def _lose(counted: StockCount, lots: tuple[shelves.LotLeft, ...], millionths: int) -> None:
    method = str(policy(code="supplies_cost", on=counted.counted_on))
    taken = shelves.take(lots=lots, quantity=millionths, on=counted.counted_on, method=method)
    StockMove.objects.bulk_create(
        row_of(move, kind=StockMove.Kind.COUNT, on=counted.counted_on, by=counted.by, at=counted.at, count=counted)
        for move in taken.moves
    )
    _tell_the_books(counted, taken)


def _tell_the_books(counted: StockCount, taken: Taken) -> None:
    lost = money.half_up(taken.donated)
    if lost:
        goods.write_off(
            key=uuid5(counted.key, "donated goods lost"),
            amount_minor=lost,
            words=f"{counted.supply.name}, not found at a count: {counted.why}",
            on=counted.counted_on,
            by=counted.by_id,
            today=counted.counted_on,
            at=counted.at,
        )
