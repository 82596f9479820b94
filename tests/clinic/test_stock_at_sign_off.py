"""What signed-off care takes from the shelf: its cost, what of it was given, who is counted short, and what goes back.

The dressing's kit takes one pad and half a roll. Its typed price is 9.85, 26.00 and 12.00.
"""

import uuid
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.actions import line_corrections, lots, prices, services, sign_off
from clinic.audit import audit
from clinic.models import House, StockMove, Supply
from clinic.queries.shelves import lots_left
from clinic.queries.unit_prices import UnitPrices
from ledger.actions import policies
from ledger.audit import audit as audit_of_the_books
from ledger.models import Charge
from ledger.queries import balances
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.clinic.test_staff import BACKEND, page
from tests.clinic.test_stock import goods, left

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic():
    return make.open_clinic()


@pytest.fixture
def pad(clinic):
    kit = [("pad", "Absorbent pad", "pad", Decimal(1)), ("roll", "Padding bandage", "roll", Decimal("0.5"))]
    services.fill_kit(service=clinic.dressing, supplies=kit)
    return Supply.objects.get(code="pad")


@pytest.fixture
def roll(pad):
    return Supply.objects.get(code="roll")


def price(clinic, service=None, starts_on: date = date(2026, 10, 2), **figures) -> None:
    said = {"usual_fee": Decimal(30), "asked": Decimal(18), **figures}
    prices.set_price(service=service or clinic.dressing, starts_on=starts_on, by=clinic.manager, at=AT, **said)


def dressed(clinic, name: str = "Bracken", *, times: int = 1, on: date = DAY):
    animal = clinic.admit(name, on=on, partner=False).animal
    for _ in range(times):
        clinic.give(animal, clinic.dressing, on=on)
    return animal


def charge_of(animal, words: str = "Padded dressing") -> Charge:
    found = Charge.objects.filter(subject_key=animal.key, reverses=None, reversed_by=None, entry__words__line=words)
    return found.latest("id")


def figures(charge: Charge) -> tuple[int, int, int, int]:
    return charge.cost_minor, charge.usual_minor, charge.asked_minor, charge.goods_minor


def test_a_donated_bandage_lowers_what_is_asked(clinic, pad, roll):
    """C2: asked 18.00, cost 15.40 of which a donated bandage 6.20: 18.00 x 9.20 / 15.40 = 10.75."""
    price(clinic, cost=Decimal("15.40"))
    make.shelf(clinic, roll, "5", cost=6200, donated=True)
    animal = dressed(clinic)

    clinic.sign()

    assert figures(charge_of(animal)) == (1540, 3000, 1075, 620)
    assert (left(roll), goods()) == ([(4500, 5580, 5580)], 6200 - 620)
    assert (*audit().findings, *audit_of_the_books().findings) == ()


def test_a_computed_cost_takes_what_the_lots_cost_oldest_first(clinic, pad, roll):
    """Two pads of 0.80 and one of 1.10, rolls at 3.00: three dressings cost 0.80 + 0.80 + 1.10 + 1.5 x 3.00 = 7.20."""
    price(clinic, cost_from="computed")
    make.shelf(clinic, pad, "2", cost=160, on=date(2026, 10, 3))
    make.shelf(clinic, pad, "10", cost=1100, on=date(2026, 10, 5))
    make.shelf(clinic, roll, "4", cost=1200)
    animal = dressed(clinic, times=3)

    clinic.sign()

    assert figures(charge_of(animal)) == (720, 9000, 5400, 0)
    assert left(pad) == [(0, 0, 0), (9000, 990, 0)]
    assert audit().findings == ()


def test_a_third_of_a_cent_is_rounded_once(clinic, pad, roll):
    """Three pads for 1.00: one is 33.33... cents. One dressing and then two: 0.33 and 0.67, and nothing is left."""
    services.fill_kit(service=clinic.dressing, supplies=[("pad", "Absorbent pad", "pad", Decimal(1))])
    price(clinic, cost_from="computed")
    make.shelf(clinic, pad, "3", cost=100)
    one, two = dressed(clinic, "Ash"), dressed(clinic, "Birch", times=2)

    clinic.sign()

    assert (charge_of(one).cost_minor, charge_of(two).cost_minor) == (33, 67)
    assert left(pad) == [(0, 0, 0)]
    assert sum(StockMove.objects.values_list("cost", flat=True)) == -100_000_000


def test_a_moving_average_from_its_day_on(clinic, pad, roll):
    """Ten pads of 1.00 and ten of 2.00: 1.00 each on the 12th, then (9.00 + 20.00) / 19 = 1.526... on the 13th."""
    services.fill_kit(service=clinic.dressing, supplies=[("pad", "Absorbent pad", "pad", Decimal(1))])
    price(clinic, cost_from="computed")
    make.shelf(clinic, pad, "10", cost=1000)
    make.shelf(clinic, pad, "10", cost=2000)
    policies.set_policy(
        key=uuid.uuid4(), code="supplies_cost", value="moving_average", from_on=DAY, why="The board wants it.",
        by=clinic.manager.pk, today=date(2026, 10, 1), at=AT,
    )  # fmt: skip
    before = DAY - timedelta(days=1)
    animal = dressed(clinic, on=before)
    clinic.sign(before)
    clinic.give(animal, clinic.dressing)

    clinic.sign(DAY)

    costs = Charge.objects.filter(kind="supplies").order_by("id").values_list("care_on", "cost_minor")
    assert list(costs) == [(before, 100), (DAY, 153)]
    assert [quantity for quantity, _, _ in left(pad)] == [8000, 10000]
    assert sum(lot.left_cost for lot in pad.lots.all()) == 3000_000_000 - 100_000_000 - round(2900_000_000 / 19)
    assert audit().findings == ()


def test_who_shares_the_last_of_a_lot_is_judged_in_the_order_of_the_sheet(clinic, pad, roll):
    make.shelf(clinic, pad, "3")
    first, second, _ = (dressed(clinic, name, times=2) for name in ("Ash", "Birch", "Cedar"))

    preview = clinic.preview()
    assert [(row.name, row.why) for row in preview.behind] == [
        ("Birch", "counted short: 1 pad of absorbent pad missing"),
        ("Cedar", "counted short: 1 pad of absorbent pad missing"),
    ]
    assert {row.short_of for row in preview.behind} == {pad.pk}
    signed = clinic.sign()

    assert (signed.rows, left(pad)) == (1, [(1000, 333, 0)])
    make.count(clinic, pad, "0", why="two more were behind the sink")  # 4 given and not signed: 3 more than on hand
    assert clinic.sign().rows == 2
    assert [quantity for quantity, _, _ in left(pad)] == [0, 0]
    assert charge_of(first).cost_minor == charge_of(second).cost_minor == 1970
    assert audit().findings == ()


def test_a_row_that_stays_behind_for_another_reason_takes_nothing(clinic, pad, roll):
    make.shelf(clinic, pad, "2")
    unpriced = services.add_service(code="sling", name="Sling walk", kind="care")
    waits, ready = dressed(clinic, "Ash", times=2), dressed(clinic, "Birch", times=2)
    clinic.give(waits, unpriced)

    assert clinic.sign().rows == 1
    assert (left(pad), charge_of(ready).cost_minor) == ([(0, 0, 0)], 1970)


def test_a_lot_is_not_used_before_it_arrived(clinic, pad, roll):
    make.shelf(clinic, pad, "1", on=date(2026, 10, 2))
    make.shelf(clinic, pad, "9", on=TODAY)
    dressed(clinic, times=2)

    assert clinic.preview().behind[0].why == (
        "counted short: 1 pad of absorbent pad missing; what is on hand arrived later"
    )


def test_before_its_first_lot_a_supply_is_not_counted(clinic, pad, roll):
    make.shelf(clinic, pad, "9", on=TODAY)
    animal = dressed(clinic)

    clinic.sign()

    assert (charge_of(animal).cost_minor, left(pad)) == (985, [(9000, 1000, 0)])


def test_a_lot_received_after_the_preview_was_read_posts_nothing(clinic, pad, roll):
    price(clinic, cost_from="computed")
    make.shelf(clinic, pad, "9", on=date(2026, 10, 5))
    make.shelf(clinic, roll, "9", on=date(2026, 10, 5))
    dressed(clinic)
    read = clinic.preview().digest
    older = make.shelf(clinic, pad, "9", cost=90, on=date(2026, 10, 4))

    with pytest.raises(sign_off.PreviewChanged, match="Nothing was posted"):
        sign_off.sign(key=uuid.uuid4(), on=DAY, digest=read, by=clinic.manager, today=TODAY, at=AT)

    lots.take_back(lot=older, why="typed twice", by=clinic.manager, today=TODAY, at=AT)
    assert clinic.preview().digest == read


def test_pricing_twice_says_the_same_and_writes_nothing(clinic, pad, roll):
    price(clinic, cost_from="computed")
    make.shelf(clinic, pad, "7", cost=333)
    make.shelf(clinic, roll, "3", cost=777, donated=True)
    dressed(clinic, times=5)

    assert clinic.preview() == clinic.preview()
    assert StockMove.objects.count() == 0


def test_a_typed_cost_below_what_was_given_asks_for_nothing(clinic, pad, roll):
    """The bandage is worth more than the whole typed cost: nothing is asked, and all of it leaves the goods."""
    price(clinic, cost=Decimal("5"))
    make.shelf(clinic, roll, "5", cost=6200, donated=True)
    animal = dressed(clinic)

    clinic.sign()

    assert figures(charge_of(animal)) == (500, 3000, 0, 620)
    assert goods() == 6200 - 620
    assert (*audit().findings, *audit_of_the_books().findings) == ()


def correct(clinic, charge: Charge, quantity: str, key: uuid.UUID | None = None):
    return line_corrections.correct_line(
        key=key or uuid.uuid4(), number=charge.entry_id, quantity=Decimal(quantity), why="Counted again.",
        by=clinic.manager, house=House.objects.get(), today=TODAY, at=AT,
    )  # fmt: skip


def test_a_corrected_line_puts_back_what_it_took(clinic, pad, roll):
    price(clinic, cost_from="computed")
    make.shelf(clinic, pad, "4", cost=400)
    make.shelf(clinic, roll, "4", cost=1600, donated=True)
    animal = dressed(clinic, times=3)
    clinic.sign()
    general = balances.balances()

    key = uuid.uuid4()
    done = correct(clinic, charge_of(animal), "1", key=key)
    assert figures(charge_of(animal)) == (300, 3000, 600, 200)
    assert (left(pad), left(roll), goods()) == ([(3000, 300, 0)], [(3500, 1400, 1400)], 1400)
    old = Charge.objects.get(pk=charge_of(animal).replaces_id)
    assert correct(clinic, old, "1", key=key).line.entry_number == done.line.entry_number
    correct(clinic, charge_of(animal), "0")

    assert (left(pad), left(roll), goods()) == ([(4000, 400, 0)], [(4000, 1600, 1600)], 1600)
    assert general.keys() == balances.balances().keys()
    assert (*audit().findings, *audit_of_the_books().findings) == ()


def test_a_correction_beyond_the_shelf_is_refused_whole(clinic, pad, roll):
    make.shelf(clinic, pad, "4", cost=400)
    animal = dressed(clinic, times=3)
    clinic.sign()

    with pytest.raises(line_corrections.ShelfShort, match="1 pad of absorbent pad missing. Nothing was changed"):
        correct(clinic, charge_of(animal), "5")

    assert (left(pad), StockMove.objects.count()) == ([(1000, 100, 0)], 1)


def test_a_late_entry_takes_from_the_shelf_too(clinic, pad, roll):
    make.shelf(clinic, pad, "4", cost=400)
    animal = dressed(clinic)
    clinic.sign()
    clinic.give(animal, clinic.dressing, today=TODAY, late_source="memory", given_by="not known")

    clinic.sign()

    assert left(pad) == [(2000, 200, 0)]
    assert set(StockMove.objects.values_list("on", flat=True)) == {DAY}
    assert audit().findings == ()


def test_a_night_with_a_kit_takes_its_liner(clinic):
    services.fill_kit(service=clinic.standard.service, supplies=[("liner", "Kennel liner", "piece", Decimal(1))])
    liner = Supply.objects.get(code="liner")
    make.shelf(clinic, liner, "2")
    dressed(clinic, "Ash"), dressed(clinic, "Birch"), dressed(clinic, "Cedar")

    assert clinic.sign().rows == 2
    assert clinic.preview().behind[0].name == "Cedar"
    assert left(liner) == [(0, 0, 0)]


def test_a_supply_without_a_listed_price_is_planned_at_its_latest_lot(clinic, pad, roll):
    """Pads at 0.90 and then at 1.20, half a roll of 3.00: planned at 2.40 on the 4th and 2.70 on the 6th."""
    price(clinic, cost_from="computed")
    make.shelf(clinic, pad, "10", cost=900, on=date(2026, 10, 3))
    make.shelf(clinic, pad, "10", cost=1200, on=date(2026, 10, 6))
    make.shelf(clinic, roll, "4", cost=1200, on=date(2026, 10, 3))

    planned = UnitPrices(services={clinic.dressing.pk}, until=DAY)

    costs = [planned.on(clinic.dressing.pk, date(2026, 10, day)).cost for day in (4, 6)]
    assert costs == [Fraction("2.40"), Fraction("2.70")]


def test_the_story_of_a_line_names_its_lots(client, clinic, pad, roll, settings):
    settings.AS_OF = "2026-10-14"
    make.shelf(clinic, pad, "1", cost=80, number="AP-1")
    make.shelf(clinic, pad, "5", cost=500, on=date(2026, 10, 5))
    animal = dressed(clinic, times=2)
    clinic.sign()
    client.force_login(clinic.vet, BACKEND)

    shown = page(client, "line", charge_of(animal).entry_id)

    assert "From the shelf: 1 pad" in shown and "lot AP-1; 1 pad" in shown and "the lot of October 5, 2026" in shown


def test_the_preview_leads_to_the_shelf_that_is_short(client, clinic, pad, roll, settings):
    settings.AS_OF = "2026-10-14"
    make.shelf(clinic, pad, "1")
    dressed(clinic, times=2)
    dressed(clinic, "Ash")
    client.force_login(clinic.manager, BACKEND)

    shown = page(client, "sign_off", DAY)

    assert (
        f'<a href="{reverse("clinic:supply", args=[pad.pk])}">counted short: 2 pads of absorbent pad missing</a>'
        in shown
    )
    assert f'href="{reverse("clinic:supplies")}">Supplies</a>' in shown


def test_a_day_asks_as_many_questions_with_a_full_ward_and_years_of_lots(clinic, pad, roll):
    """Thirteen lots of one pad are old, and one pad of them is left, for Ash: only what is left is read."""
    price(clinic, cost_from="computed")
    make.shelf(clinic, roll, "99", cost=9900)
    make.shelf(clinic, pad, "1", on=date(2025, 1, 1))
    dressed(clinic, "Ash")
    with CaptureQueriesContext(connection) as few:
        clinic.preview()
    for month in range(1, 13):
        make.shelf(clinic, pad, "1", on=date(2025, month, 2))
    make.count(clinic, pad, "0", why="all of them were old")
    make.shelf(clinic, pad, "99", on=date(2026, 10, 1))
    for name in ("Birch", "Cedar", "Doe", "Elm", "Fir"):
        dressed(clinic, name, times=3)

    with CaptureQueriesContext(connection) as many:
        rows = clinic.preview().rows

    assert (len(rows), len(many)) == (6, len(few))
    assert (pad.lots.count(), len(lots_left([pad.pk])[pad.pk])) == (14, 2)
