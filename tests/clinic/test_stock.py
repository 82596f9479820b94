"""Lots as they arrive, counts, and the database that keeps what is left of each: on either engine."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from clinic.actions import counts, lots, services, supplies
from clinic.audit import audit
from clinic.models import StockCount, StockMove, Supply, SupplyLot
from config.refusal import Refusal
from ledger.queries import balances
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.clinic.test_sealed_rows import _plain, sql

pytestmark = pytest.mark.django_db

MILLION = 1_000_000


@pytest.fixture
def clinic():
    return make.open_clinic()


@pytest.fixture
def roll(clinic):
    """A roll of bandage, of which a dressing takes half."""
    kit = services.fill_kit(service=clinic.dressing, supplies=[("bandage", "Padding bandage", "roll", Decimal("0.5"))])
    return kit.lines.get().supply


def goods() -> int:
    from ledger.models import Fund

    return balances.balances()[Fund.objects.get(kind="goods").pk]


def left(supply: Supply) -> list[tuple[int, int, int]]:
    """Return what is left of each lot: quantity in thousandths, cost and donated in minor units."""
    found = supply.lots.order_by("arrived_on", "pk")
    return [(lot.left_millionths // 1000, lot.left_cost // MILLION, lot.left_donated // MILLION) for lot in found]


def test_a_pack_arrives_in_units(clinic, roll):
    supplies.set_packs(supply=roll, packs={"box": Decimal(12)})

    lot = make.shelf(clinic, roll, "2", unit="box", cost=4800, number="K-118", expires_on=date(2027, 3, 1))

    assert (lot.written, lot.left_millionths) == ("2 boxes", 24 * MILLION)
    assert (lot.cost_minor, lot.number, lot.source) == (4800, "K-118", "bought")


def test_a_given_lot_is_a_gift_of_goods_in_the_books(clinic, roll):
    lot = make.shelf(clinic, roll, "5", cost=3100, donated=True)

    assert left(roll) == [(5000, 3100, 3100)]
    assert goods() == 3100
    assert lot.gift_entry is not None


def test_the_same_form_twice_is_one_lot(clinic, roll):
    key = uuid.uuid4()
    first = make.shelf(clinic, roll, key=key)

    assert make.shelf(clinic, roll, key=key) == first
    with pytest.raises(lots.LotKeyUsed, match="other content"):
        make.shelf(clinic, roll, "11", key=key)
    assert SupplyLot.objects.count() == 1


REFUSED = {
    "a unit that does not convert": ({"unit": "pallet"}, lots.UnitUnknown, "does not convert to roll"),
    "nothing": ({"quantity": "0"}, lots.QuantityOfNone, "above zero"),
    "too fine": ({"quantity": "0.0001"}, lots.QuantityOfNone, "three digits"),
    "ahead": ({"on": TODAY + timedelta(days=1)}, lots.LotAhead, "has not come yet"),
    "a cost below zero": ({"cost": -1}, lots.CostImpossible, "zero or more"),
    "a gift worth nothing": ({"cost": 0, "donated": True}, lots.GiftWorthNothing, "above zero"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_lot_that_cannot_be_is_refused(clinic, roll, name):
    said, refusal, words = REFUSED[name]

    with pytest.raises(refusal, match=words):
        make.shelf(clinic, roll, **said)

    assert (SupplyLot.objects.count(), goods()) == (0, 0)


def test_a_count_of_less_takes_the_oldest_at_its_cost(clinic, roll):
    make.shelf(clinic, roll, "4", cost=400, on=date(2026, 10, 2))
    make.shelf(clinic, roll, "10", cost=3000, on=date(2026, 10, 5))

    made = make.count(clinic, roll, "9", why="two were torn")

    assert left(roll) == [(0, 0, 0), (9000, 2700, 0)]
    assert made.expected_millionths == 14 * MILLION
    assert audit().findings == ()


def test_what_was_given_and_lost_leaves_the_books_too(clinic, roll):
    make.shelf(clinic, roll, "4", cost=1000, donated=True)

    make.count(clinic, roll, "3", why="wet")

    assert left(roll) == [(3000, 750, 750)]
    assert goods() == 750


def test_a_count_of_more_comes_in_at_no_cost(clinic, roll):
    make.shelf(clinic, roll, "4", cost=400)

    make.count(clinic, roll, "6.5", why="a box behind the others")

    assert left(roll) == [(4000, 400, 0), (2500, 0, 0)]
    assert SupplyLot.objects.latest("pk").source == "found"


def test_what_is_given_and_not_signed_is_not_expected_on_the_shelf(clinic, roll):
    make.shelf(clinic, roll, "4", cost=400)
    animal = clinic.admit().animal
    for _ in range(3):
        clinic.give(animal, clinic.dressing)

    made = make.count(clinic, roll, "2.5")

    assert made.expected_millionths == 2_500_000
    assert (left(roll), StockMove.objects.count()) == ([(4000, 400, 0)], 0)


def test_nights_of_a_level_with_a_kit_wait_too(clinic):
    """Two nights are not signed, each with one liner; the lot came on the first of them."""
    kit = services.fill_kit(service=clinic.standard.service, supplies=[("liner", "Kennel liner", "piece", Decimal(1))])
    liner = kit.lines.get().supply
    clinic.admit(on=DAY - timedelta(days=3))
    make.shelf(clinic, liner, "10", on=DAY)

    assert make.count(clinic, liner, "8").expected_millionths == 8 * MILLION


def test_a_count_below_zero_and_one_without_a_reason_are_refused(clinic, roll):
    make.shelf(clinic, roll, "4", cost=400)

    with pytest.raises(counts.CountBelowZero, match="less than nothing"):
        make.count(clinic, roll, "-1", why="typed")
    with pytest.raises(counts.CountUnexplained, match="4 rolls were expected"):
        make.count(clinic, roll, "3")

    assert (StockCount.objects.count(), left(roll)) == (0, [(4000, 400, 0)])


def test_a_lot_typed_wrong_is_taken_back_with_its_gift(clinic, roll):
    lot = make.shelf(clinic, roll, "4", cost=1000, donated=True)

    lots.take_back(lot=lot, why="typed twice", by=clinic.bookkeeper, today=TODAY, at=AT)
    lots.take_back(lot=lot, why="typed twice", by=clinic.bookkeeper, today=TODAY, at=AT)

    assert (left(roll), goods()) == ([(0, 0, 0)], 0)
    assert StockMove.objects.get().kind == "away"


def test_a_lot_in_use_and_a_found_one_stay(clinic, roll):
    lot = make.shelf(clinic, roll, "4", cost=400)
    make.count(clinic, roll, "3", why="torn")
    with pytest.raises(lots.LotTaken, match="Count the shelf"):
        lots.take_back(lot=lot, why="no", by=clinic.bookkeeper, today=TODAY, at=AT)
    make.count(clinic, roll, "5", why="found")
    with pytest.raises(lots.LotFound, match="Count again"):
        lots.take_back(lot=SupplyLot.objects.latest("pk"), why="no", by=clinic.bookkeeper, today=TODAY, at=AT)


def test_packs_hold_something_and_are_not_the_unit(clinic, roll):
    with pytest.raises(supplies.PackImpossible, match="more than nothing"):
        supplies.set_packs(supply=roll, packs={"box": Decimal(0)})
    with pytest.raises(supplies.PackImpossible, match="counted in roll already"):
        supplies.set_packs(supply=roll, packs={"roll": Decimal(2)})

    assert roll.packs.count() == 0


def test_a_supply_keeps_its_unit(clinic, roll):
    assert supplies.add_supply(name="Padding bandage", unit="roll") in Supply.objects.all()
    with pytest.raises(Refusal, match="counted in roll"):
        supplies.add_supply(name="padding bandage", unit="piece")


# ------------------------------------------------------------------ attacks
@pytest.fixture
def kept(clinic, roll):
    make.shelf(clinic, roll, "4", cost=400)
    make.count(clinic, roll, "3", why="torn")
    make.count(clinic, roll, "3.5", why="found")
    return clinic, roll


def everything() -> list[tuple]:
    return [row for model in (SupplyLot, StockMove, StockCount) for row in sorted(model.objects.values_list())]


def one_more_move(**changed):
    lot = SupplyLot.objects.first()
    said = {"lot": lot, "kind": "use", "on": TODAY, "quantity_millionths": -1, "cost": 0, "charge_key": uuid.uuid4()}
    StockMove.objects.create(**(said | {"by": lot.by, "at": timezone.now()} | changed))


def bulk_update() -> None:
    lot = SupplyLot.objects.first()
    lot.left_millionths -= 1
    SupplyLot.objects.bulk_update([lot], ["left_millionths"])


def born_with_less() -> None:
    lot = SupplyLot.objects.first()
    lot.pk, lot.key, lot.last_move, lot.left_millionths = None, uuid.uuid4(), 0, 1
    SupplyLot.objects.bulk_create([lot])


ATTACKS = {
    "what is left, by hand": lambda: SupplyLot.objects.update(left_millionths=1),
    "what is left, with a later move": lambda: SupplyLot.objects.update(left_millionths=1, last_move=10**6),
    "the cost of a lot": lambda: SupplyLot.objects.update(cost_minor=1),
    "the lot's arrival": lambda: sql("UPDATE clinic_supplylot SET arrived_on = '2026-01-01'"),
    "bulk_update of a lot": bulk_update,
    "save of a lot": lambda: SupplyLot.objects.first().save(),
    "delete of a lot": lambda: SupplyLot.objects.all()._raw_delete("default"),
    "a lot born with less": born_with_less,
    "update of a move": lambda: StockMove.objects.update(cost=0),
    "delete of a move": lambda: StockMove.objects.all()._raw_delete("default"),
    "raw delete of a count": lambda: sql("DELETE FROM clinic_stockcount"),
    "raw update of a count": lambda: sql("UPDATE clinic_stockcount SET why = 'other'"),
    "a move of more than there is": lambda: one_more_move(quantity_millionths=-4 * MILLION),
    "a move of more money than there is": lambda: one_more_move(cost=-400 * MILLION),
    "a use before the lot arrived": lambda: one_more_move(on=date(2026, 9, 30)),
    "a use that adds": lambda: one_more_move(quantity_millionths=1),
    "a use of nobody's care": lambda: one_more_move(charge_key=None),
    "a lot put back that was not used": lambda: one_more_move(
        kind="back", quantity_millionths=MILLION, cost=100 * MILLION, back_of=StockMove.objects.first()
    ),
}


@pytest.mark.parametrize("name", ATTACKS)
def test_the_shelf_withstands(kept, name):
    before = everything()

    with pytest.raises(IntegrityError), transaction.atomic():
        ATTACKS[name]()

    assert everything() == before


@pytest.mark.skipif(connection.vendor != "sqlite", reason="REPLACE and IGNORE are SQLite's own")
@pytest.mark.parametrize("model", [SupplyLot, StockMove, StockCount])
def test_replace_withstands(kept, model):
    columns = [field.column for field in model._meta.concrete_fields]
    row = model.objects.values_list(*columns).first()
    before = everything()
    for verb in ("INSERT OR REPLACE", "INSERT OR IGNORE"):
        words, holes = ", ".join(f'"{column}"' for column in columns), ", ".join("%s" for _ in columns)
        with pytest.raises(IntegrityError), transaction.atomic():
            sql(f"{verb} INTO {model._meta.db_table} ({words}) VALUES ({holes})", *map(_plain, row))

    assert everything() == before


@pytest.mark.skipif(connection.vendor != "sqlite", reason="IGNORE is SQLite's own")
def test_an_ignored_conflict_lets_no_lot_go_below_zero(kept):
    lot = SupplyLot.objects.first()
    move = StockMove(
        lot=lot, kind="use", on=TODAY, quantity_millionths=-9 * MILLION, cost=0, charge_key=uuid.uuid4(), by=lot.by,
        at=timezone.now(),
    )  # fmt: skip
    before = everything()

    with pytest.raises(IntegrityError), transaction.atomic():
        StockMove.objects.bulk_create([move], ignore_conflicts=True)

    assert everything() == before


@pytest.mark.skipif(connection.vendor != "postgresql", reason="TRUNCATE is PostgreSQL's own")
@pytest.mark.parametrize("model", [SupplyLot, StockMove, StockCount])
def test_truncate_withstands(kept, model):
    before = everything()
    connection.check_constraints()

    with pytest.raises(IntegrityError), transaction.atomic():
        sql(f"TRUNCATE {model._meta.db_table} CASCADE")

    assert everything() == before
