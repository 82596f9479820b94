"""The bookkeeper raises a salary and a supply's price from next month: last month's page stands, next month's moves.

Worked by hand. A nurse of 87,360 a year over 224 days of 6 hours (80,640 minutes) is 65.00 an hour; from November on
100,800, which is 75.00. A dressing takes 12 of her minutes, one pad and half a roll: until October 31
13.00 + 0.85 + 1.60 = 15.45, from November 1 on 15.00 + 0.95 + 1.60 = 17.55. With a night of 21.40 the day of October 31
costs 36.85 and the day of November 1 costs 38.95, that is 2.10 more: 2.00 of the salary and 0.10 of the pad. The funds
are asked for half of the cost: 7.725, so 7.73, and 8.775, so 8.78; with the night of 24.00 that is 31.73 and 32.78.
"""

import re
from datetime import date
from decimal import Decimal

import pytest

from clinic.actions import prices, services, staff, supply_prices
from clinic.audit import audit as audit_of_care
from clinic.models import Supply
from ledger.audit import audit as audit_of_books
from tests.clinic import make
from tests.clinic.make import AT

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, LAST, NEXT = date(2026, 10, 1), date(2026, 10, 31), date(2026, 11, 1)
KIT = [("pad", "Absorbent pad", "pad", Decimal(1)), ("roll", "Padding bandage", "roll", Decimal("0.5"))]


@pytest.fixture
def clinic(settings):
    """A dressing whose cost is computed, given to Bracken on the last day of October; nothing is signed off yet."""
    settings.AS_OF = str(LAST)
    clinic = make.open_clinic()
    by = {"by": clinic.bookkeeper, "at": AT}
    year = {"people": Decimal(1), "days": Decimal(224), "hours_a_day": Decimal("7.5"), "break_minutes_a_day": 90}
    nurse = staff.add_grade(name="Nurse", starts_on=FIRST, yearly_cost=Decimal(87_360), **year, **by)
    staff.set_minutes(service=clinic.dressing, minutes={nurse.pk: Decimal(12)})
    services.fill_kit(service=clinic.dressing, supplies=KIT)
    for code, cost in (("pad", "0.85"), ("roll", "3.20")):
        supply = Supply.objects.get(code=code)
        supply_prices.set_supply_price(supply=supply, starts_on=FIRST, cost=Decimal(cost), **by)
    computed = {"cost_from": "computed", "asked_from": "cost", "asked_percent": Decimal(50)}
    prices.set_price(service=clinic.dressing, starts_on=FIRST, usual_fee=Decimal(26), **computed, **by)
    clinic.stay = clinic.admit("Bracken")  # of its earlier days nothing is signed off
    clinic.give(clinic.stay.animal, clinic.dressing, on=LAST)
    return clinic


def fill(page, **boxes: str) -> None:
    for label, value in boxes.items():
        page.get_by_label(re.compile(label.replace("_", " "))).first.fill(value)


def raise_both(page) -> None:
    page.goto("/staff/")
    page.get_by_role("link", name="Nurse").click()
    fill(page, From="2026-11-01", Posts="1", Cost_of_one_post="100800", Working_days="224", Hours_a_day="7.5")
    fill(page, Minutes_of_breaks="90")
    page.get_by_role("button", name="Set the cost").click()
    page.wait_for_url("**/staff/")
    page.goto("/prices/")
    page.get_by_role("link", name="What supplies cost").click()
    page.get_by_role("link", name="Absorbent pad").click()
    fill(page, From="2026-11-01", Cost_of_one_unit="0.95")
    page.get_by_role("button", name="Set the cost").click()
    page.wait_for_url("**/prices/supplies/")


def months(page, clinic) -> dict[str, list[str]]:
    """Read the rows of the months on the animal's cost page: cost, full cost, usual fee, asked."""
    page.goto(f"/animals/{clinic.stay.animal_id}/costs/")
    rows = page.locator("table").filter(has=page.locator("caption", has_text="By month")).locator("tbody tr")
    cells = [row.inner_text().split() for row in rows.all()]
    return {" ".join(words[:2]): words[2:] for words in cells}


def working(page, clinic) -> str:
    page.goto(f"/prices/{clinic.dressing.pk}/")
    return " ".join(page.locator("main").inner_text().split())


def test_a_raise_moves_next_month_and_not_the_last(clinic, open_page, settings):
    page = open_page(clinic.bookkeeper)
    assert "15.45" in working(page, clinic)
    raise_both(page)
    assert "15.45" in working(page, clinic) and "17.55" not in working(page, clinic)

    settings.AS_OF = "2026-11-02"  # October 31 is signed off only now, after the raise
    clinic.see_all(LAST)
    clinic.sign(LAST, date(2026, 11, 2))
    assert months(page, clinic) == {"October 2026": ["36.85", "36.85", "68.00", "31.73"]}
    clinic.give(clinic.stay.animal, clinic.dressing, on=NEXT)
    clinic.see_all(NEXT)
    clinic.sign(NEXT, date(2026, 11, 2))

    assert months(page, clinic) == {
        "November 2026": ["38.95", "38.95", "68.00", "32.78"],
        "October 2026": ["36.85", "36.85", "68.00", "31.73"],
    }
    assert "17.55" in working(page, clinic)
    page.goto("/costs/?from_on=2026-10-01&to_on=2026-10-31")
    assert "36.85 for 1 animal and 1 day of care" in page.locator("main").inner_text()
    assert page.complaints == []
    assert not audit_of_books().findings and not audit_of_care().findings
