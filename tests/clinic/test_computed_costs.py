"""A cost computed from the minutes and the kit of a service, what is asked as a share, and how both reach a charge.

Worked by hand: a nurse of 87,360 a year over 80,640 minutes is 65.00 an hour, so 12 minutes are 13.00; a pad at 0.85
and half a roll at 3.20 are 2.45; one dressing costs 15.45. From November a year costs 100,800 (75.00 an hour: 15.00)
and a pad 0.95: 17.55, that is 2.10 more.
"""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import costed_days, price_lists, prices, services, staff, supply_prices
from clinic.models import Price, Supply, SupplyPrice
from clinic.queries.priced_day import priced_day
from clinic.queries.unit_prices import UnitPrices
from tests.clinic import make
from tests.clinic.make import AT, DAY

pytestmark = [pytest.mark.django_db]
BACKEND = "django.contrib.auth.backends.ModelBackend"
OCTOBER, NOVEMBER = date(2026, 10, 1), date(2026, 11, 1)
KIT = [("pad", "Absorbent pad", "pad", Decimal(1)), ("roll", "Padding bandage", "roll", Decimal("0.5"))]
YEAR = {"people": Decimal(1), "days": Decimal(224), "hours_a_day": Decimal("7.5"), "break_minutes_a_day": 90}


@pytest.fixture
def clinic(settings):
    settings.AS_OF = "2026-10-14"
    return make.open_clinic()


def by(clinic) -> dict[str, object]:
    return {"by": clinic.bookkeeper, "at": AT}


def fill(clinic) -> None:
    """Give the dressing its nurse and its kit with what they cost, and compute its price from October on."""
    nurse = staff.add_grade(name="Nurse", starts_on=OCTOBER, yearly_cost=Decimal(87_360), **YEAR, **by(clinic))
    staff.set_minutes(service=clinic.dressing, minutes={nurse.pk: Decimal(12)})
    services.fill_kit(service=clinic.dressing, supplies=KIT)
    for code, cost in (("pad", "0.85"), ("roll", "3.20")):
        list_supply(clinic, code, cost, OCTOBER)
    compute(clinic)


def list_supply(clinic, code: str, cost: str, on: date) -> SupplyPrice:
    supply = Supply.objects.get(code=code)
    return supply_prices.set_supply_price(supply=supply, starts_on=on, cost=Decimal(cost), **by(clinic))


def compute(clinic, starts_on: date = OCTOBER, **more) -> Price:
    said = {"usual_fee": Decimal(26), "cost_from": "computed", "asked_from": "cost", "asked_percent": Decimal(50)}
    return prices.set_price(service=clinic.dressing, starts_on=starts_on, **said | more, **by(clinic))


def raise_both(clinic) -> None:
    nurse = clinic.dressing.grade_minutes.get().grade
    staff.set_cost(grade=nurse, starts_on=NOVEMBER, yearly_cost=Decimal(100_800), **YEAR, **by(clinic))
    list_supply(clinic, "pad", "0.95", NOVEMBER)


def cost_on(clinic, day: date) -> Fraction:
    return UnitPrices(services=[clinic.dressing.pk], until=day).on(clinic.dressing.pk, day).cost


def charged(clinic, **more):
    stay = clinic.admit("Bracken", on=DAY)
    clinic.give(stay.animal, clinic.dressing, **more)
    return next(line for row in priced_day(on=DAY) for line in row.lines if line.service == clinic.dressing)


def page(client, name: str, *args) -> str:
    return " ".join(client.get(reverse(f"clinic:{name}", args=args)).content.decode().split())


def test_a_salary_and_a_supply_move_the_cost_from_their_day_on(clinic):
    fill(clinic)
    raise_both(clinic)

    assert cost_on(clinic, date(2026, 10, 31)) == Fraction("15.45")
    assert cost_on(clinic, NOVEMBER) == Fraction("17.55")


def test_a_computed_cost_reaches_the_charge_and_is_rounded_once(clinic):
    """Three dressings are 46.35; half of that is 23.175, so 23.18 and not three times 7.73."""
    fill(clinic)
    slip = charged(clinic, quantity="3").slip

    assert (slip.cost_minor, slip.usual_minor, slip.asked_minor) == (46_35, 78_00, 23_18)
    clinic.see_all()
    assert clinic.sign()


def test_an_unsigned_day_priced_twice_is_the_same_and_moves_with_what_it_is_computed_from(clinic):
    fill(clinic)
    charged(clinic)
    first, digest = priced_day(on=DAY), clinic.preview().digest

    assert priced_day(on=DAY) == first and clinic.preview().digest == digest
    list_supply(clinic, "pad", "0.95", date(2026, 10, 5))
    assert clinic.preview().digest != digest


def test_work_given_free_lowers_what_is_asked_by_its_part_alone(clinic):
    """13.00 of the 15.45 were given: asked is 7.725 x 2.45 / 15.45 = 1.225, so 1.23; the supplies are still paid."""
    fill(clinic)

    assert charged(clinic, given_free=True).slip.asked_minor == 1_23


def test_a_share_is_never_above_the_usual_fee(clinic):
    fill(clinic)
    compute(clinic, NOVEMBER, usual_fee=Decimal(10), asked_percent=Decimal(80))
    price = UnitPrices(services=[clinic.dressing.pk], until=NOVEMBER).on(clinic.dressing.pk, NOVEMBER)

    assert (price.cost, price.asked) == (Fraction("15.45"), 10)


def test_a_cost_that_cannot_be_computed_is_named_before_sign_off_and_on_the_list(client, clinic):
    compute(clinic)
    client.force_login(clinic.bookkeeper, BACKEND)
    line = charged(clinic)

    nothing = "it has neither minutes nor a kit to compute its cost from"
    assert line.slip is None and line.obstacle == f"Padded dressing cannot be priced: {nothing}"
    assert nothing in page(client, "prices") and "1 cost cannot be computed" in page(client, "prices")
    services.fill_kit(service=clinic.dressing, supplies=KIT)
    assert "Absorbent pad and Padding bandage have no cost on that day" in page(client, "prices")
    clinic.see_all()
    assert "Absorbent pad and Padding bandage have no cost" in page(client, "sign_off", DAY)


def test_the_page_of_a_price_shows_its_working(client, clinic):
    fill(clinic)
    client.force_login(clinic.bookkeeper, BACKEND)
    shown = page(client, "price", clinic.dressing.pk)

    assert "12 min" in shown and "1.083333" in shown and "13.00" in shown
    assert "0.5 roll" in shown and "3.20" in shown and "1.60" in shown and "15.45" in shown


def test_what_a_supply_costs_is_set_on_its_page(client, clinic):
    fill(clinic)
    client.force_login(clinic.bookkeeper, BACKEND)
    pad = Supply.objects.get(code="pad")
    said = {"starts_on": "2026-11-01", "cost": "0.95"}

    assert client.post(reverse("clinic:supply_price", args=[pad.pk]), said).status_code == 303
    assert cost_on(clinic, NOVEMBER) == Fraction("15.55")
    assert "changes on November 1, 2026" in page(client, "supply_prices")
    answer = client.post(reverse("clinic:supply_price", args=[pad.pk]), said | {"cost": "1"})
    assert answer.status_code == 422 and "already has a cost from 2026-11-01" in answer.content.decode()


def test_a_signed_day_keeps_what_it_was_computed_from(clinic):
    fill(clinic)
    charged(clinic)
    clinic.see_all()
    clinic.sign()
    nurse = clinic.dressing.grade_minutes.get().grade

    with pytest.raises(costed_days.DayCostedAlready, match="signed off with the earlier cost of Nurse"):
        staff.set_cost(grade=nurse, starts_on=DAY, yearly_cost=Decimal(1), **YEAR, **by(clinic))
    with pytest.raises(costed_days.DayCostedAlready, match="earlier cost of Absorbent pad"):
        list_supply(clinic, "pad", "9", date(2026, 10, 5))
    raise_both(clinic)
    assert cost_on(clinic, DAY) == Fraction("15.45")


def test_the_list_is_copied_taken_away_and_brought_in_with_what_is_computed(client, clinic):
    fill(clinic)
    client.force_login(clinic.bookkeeper, BACKEND)
    price_lists.copy_forward(
        starts_on=NOVEMBER, percent=Decimal(10), figures=["cost", "usual_fee", "asked"], **by(clinic)
    )
    price = Price.objects.get(service=clinic.dressing, starts_on=NOVEMBER)
    assert prices.Said.of(price) == prices.Said(usual_fee=Decimal("28.6"), asked_from="cost", asked_percent=Decimal(50))

    text = client.get(reverse("clinic:price_file", args=["csv"])).content.decode("utf-8-sig")
    assert "padded-dressing,Padded dressing,dressing,2026-10-01,computed,,26,50 % of cost" in text
    before = Price.objects.count()
    assert client.post(reverse("clinic:price_import"), {"text": text, "keep": "yes"}).status_code == 303
    assert Price.objects.count() == before
    later = text.replace("2026-10-01", "2026-12-01").replace("50 % of cost", "45.5 % of usual fee")
    assert client.post(reverse("clinic:price_import"), {"text": later, "keep": "yes"}).status_code == 303
    shares = Price.objects.filter(service=clinic.dressing).order_by("starts_on")
    assert list(shares.values_list("asked_from", "asked_percent"))[2:] == [
        ("cost", Decimal(50)),
        ("usual_fee", Decimal("45.5")),
    ]


@pytest.mark.parametrize(
    ("said", "refusal"),
    [
        ({"cost_from": "typed"}, prices.CostMissing),
        ({"asked_from": "typed"}, prices.AskedMissing),
        ({"asked_percent": None}, prices.PercentImpossible),
        ({"asked_percent": Decimal(-1)}, prices.PercentImpossible),
        ({"asked_from": "usual_fee", "asked_percent": Decimal("100.001")}, prices.PercentImpossible),
        ({"donated": Decimal(1)}, prices.CostComputedAndTyped),
        ({"cost_from": "typed", "cost": Decimal(40), "asked_percent": Decimal(100)}, prices.AskedAboveUsual),
    ],
)
def test_a_price_that_says_half_is_refused(clinic, said, refusal):
    with pytest.raises(refusal), transaction.atomic():
        compute(clinic, **said)

    assert not Price.objects.filter(service=clinic.dressing, starts_on=OCTOBER).exists()


def test_the_database_keeps_no_stale_figure_beside_a_computed_one(clinic):
    price = compute(clinic)

    for wrong in ({"cost": Decimal(3)}, {"asked_percent": None}, {"asked_from": "typed"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Price.objects.filter(pk=price.pk).update(**wrong)


def test_the_reads_of_a_priced_day_do_not_grow_with_its_services(clinic, django_assert_num_queries):
    fill(clinic)
    for number in range(8):
        made = services.add_service(code=f"more-{number}", name=f"More {number}", kind="care")
        staff.set_minutes(service=made, minutes={clinic.dressing.grade_minutes.get().grade_id: Decimal(3)})
        prices.set_price(
            service=made, starts_on=OCTOBER, usual_fee=Decimal(9), asked=Decimal(1), cost_from="computed", **by(clinic)
        )
    wanted = set(Price.objects.values_list("service", flat=True))

    with django_assert_num_queries(5):
        found = UnitPrices(services=wanted, until=NOVEMBER)
        assert all(found.on(service, NOVEMBER).cost for service in wanted)
