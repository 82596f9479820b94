"""Lots of supplies as they arrive: bought, or given at fair value; and a lot that was typed wrong, taken back.

Refusal
└── LotRefused
    ├── UnitUnknown      a unit that does not convert
    ├── QuantityOfNone   nothing, or finer than can be counted
    ├── LotAhead         it arrives after today
    ├── CostImpossible   below zero
    ├── GiftWorthNothing a gift of goods has a fair value
    ├── LotKeyUsed       the form came before with other content
    ├── LotTaken         something of it was used already
    └── LotFound         what a count found goes by the next count
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from uuid import UUID, uuid5

from django.db import transaction

from clinic.formulas import stock
from clinic.formulas.shelves import MILLION
from clinic.models import House, StockMove, Supply, SupplyLot, User
from config.refusal import Refusal
from config.units import with_unit
from ledger.actions import goods, reversals

MOST = 10**6


class LotRefused(Refusal):
    """Nothing was written; the shelf was left as it was."""


class UnitUnknown(LotRefused):
    field = "unit"


class QuantityOfNone(LotRefused):
    field = "quantity"

    def __init__(self) -> None:
        super().__init__("A quantity is above zero, at most a million, with three digits at most. Nothing was saved.")


class LotAhead(LotRefused):
    field = "arrived_on"

    def __init__(self, on: date) -> None:
        super().__init__(f"{on:%B} {on.day} has not come yet. Enter what has arrived; nothing was saved.")


class CostImpossible(LotRefused):
    field = "cost_minor"


class GiftWorthNothing(LotRefused):
    field = "fair_value_minor"

    def __init__(self) -> None:
        super().__init__("A gift of goods has a fair value above zero. Nothing was saved.")


class LotKeyUsed(LotRefused):
    def __init__(self) -> None:
        super().__init__("This form was sent before with other content. Nothing was written twice; enter it anew.")


class LotTaken(LotRefused):
    def __init__(self) -> None:
        super().__init__(
            "Something of this lot was used already, so it stays. Nothing was changed. "
            "Count the shelf instead: a count says what is really there."
        )


class LotFound(LotRefused):
    def __init__(self) -> None:
        super().__init__("A count found this lot. Nothing was changed. Count again to correct it.")


@transaction.atomic
def receive(
    *,
    key: UUID,
    supply: Supply,
    quantity: Decimal,
    unit: str,
    cost_minor: int,
    arrived_on: date,
    by: User,
    today: date,
    at: datetime,
    number: str = "",
    expires_on: date | None = None,
    words: str = "",
) -> SupplyLot:
    """Put a bought lot on the shelf, with what all of it cost.

    :raises LotRefused: when unit, quantity, cost or date cannot be.
    """
    if cost_minor < 0:
        raise CostImpossible("A lot costs zero or more. Nothing was saved.")
    lot = _arrived(
        SupplyLot(
            key=key,
            supply=supply,
            source=SupplyLot.Source.BOUGHT,
            arrived_on=arrived_on,
            cost_minor=cost_minor,
            number=number,
            expires_on=expires_on,
            words=words,
            by=by,
            at=at,
        ),
        quantity,
        unit,
        today,
    )
    return _known(lot) or _kept(lot)


@transaction.atomic
def receive_donated(
    *,
    key: UUID,
    supply: Supply,
    quantity: Decimal,
    unit: str,
    fair_value_minor: int,
    donor_id: int | None,
    arrived_on: date,
    by: User,
    today: date,
    at: datetime,
    number: str = "",
    expires_on: date | None = None,
) -> SupplyLot:
    """Put a given lot on the shelf at its fair value, and record the gift of goods in the books (E7).

    :raises LotRefused: when unit, quantity, value or date cannot be.
    :raises IncomeRefused: when the books cannot take the gift.
    """
    if fair_value_minor <= 0:
        raise GiftWorthNothing
    lot = _arrived(
        SupplyLot(
            key=key,
            supply=supply,
            source=SupplyLot.Source.GIVEN,
            arrived_on=arrived_on,
            cost_minor=fair_value_minor,
            number=number,
            expires_on=expires_on,
            by=by,
            at=at,
        ),
        quantity,
        unit,
        today,
    )
    gift = goods.receive(
        key=uuid5(key, "gift"),
        donor_id=donor_id,
        words=supply.name,
        quantity=quantity,
        unit=unit,
        fair_value_minor=fair_value_minor,
        received_on=arrived_on,
        by=by.pk,
        today=today,
        at=at,
    )
    lot.gift_entry = gift.entry_id
    return _known(lot) or _kept(lot)


@transaction.atomic
def take_back(*, lot: SupplyLot, why: str, by: User, today: date, at: datetime) -> StockMove:
    """Take a lot off the shelf that was typed wrong, and its gift out of the books.

    :raises LotRefused: when something of it was used, or a count found it.
    """
    hold()
    lot = SupplyLot.objects.select_for_update(of=("self",)).get(pk=lot.pk)
    known = lot.moves.filter(kind=StockMove.Kind.AWAY).first()
    if known:
        return known
    if lot.source == SupplyLot.Source.FOUND:
        raise LotFound
    if lot.last_move:
        raise LotTaken
    if lot.gift_entry:
        key = uuid5(lot.key, "taken back")
        reversals.take_back(key=key, number=lot.gift_entry, by=by.pk, today=today, at=at, why=why)
    return StockMove.objects.create(
        lot=lot,
        kind=StockMove.Kind.AWAY,
        on=today,
        quantity_millionths=-lot.left_millionths,
        cost=-lot.left_cost,
        donated=-lot.left_donated,
        by=by,
        at=at,
    )


def hold() -> None:
    """Let nobody else sign off, count or receive until this is written; SQLite writes one at a time anyway."""
    list(House.objects.select_for_update())


def _arrived(lot: SupplyLot, quantity: Decimal, unit: str, today: date) -> SupplyLot:
    """Say of a lot how much it is, in the supply's own unit, and hold the shelf."""
    if not 0 < quantity <= MOST or quantity * 1000 % 1:
        raise QuantityOfNone
    if lot.arrived_on > today:
        raise LotAhead(lot.arrived_on)
    packs = {pack.name: Fraction(pack.holds) for pack in lot.supply.packs.all()}
    try:
        whole = stock.convert(quantity=Fraction(quantity), unit=unit, to=lot.supply.unit, packs=packs)
    except stock.StockImpossible as problem:
        raise UnitUnknown(f"{problem} Nothing was saved. Say first what a {unit} holds.") from None
    hold()
    lot.quantity_millionths, lot.written = int(whole * MILLION), with_unit(quantity, unit)
    return lot


SAID = ("supply_id", "source", "arrived_on", "quantity_millionths", "cost_minor", "number", "expires_on", "words")


def _known(lot: SupplyLot) -> SupplyLot | None:
    known = SupplyLot.objects.filter(key=lot.key).first()
    if known and any(getattr(known, name) != getattr(lot, name) for name in SAID):
        raise LotKeyUsed
    return known


def _kept(lot: SupplyLot) -> SupplyLot:
    lot.left_millionths, lot.left_cost = lot.quantity_millionths, lot.cost_minor * MILLION
    lot.left_donated = lot.left_cost if lot.source == SupplyLot.Source.GIVEN else 0
    lot.save(force_insert=True)
    return lot
