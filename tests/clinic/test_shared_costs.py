"""Shared costs of a year through the page and the action: stepped down, kept with their dates, refused by name.

The figures are those of the Arbon Company, a standard cost-accounting textbook problem (inputs published, answers
recomputed): Admin 84,000, Janitorial 67,800 and Maintenance 36,000 are closed in this order; Prep, here the ward, comes
to 327,500 and Finishing, here the theater, to 615,000. Over 1,250 boarding days that is 262.00, over 410,000 minutes
1.50.
"""

from datetime import date
from fractions import Fraction

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from clinic.formulas.shared_costs import per_unit, step_down
from clinic.models import CostBase, CostCenter, SharedYear
from clinic.queries import shared_costs as queries
from tests.clinic import make

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
ARBON = """Admin 84000: Janitorial 60, Maintenance 240, ward 600, Theater 300
Janitorial 67,800: Maintenance 10000, Ward 20000, Theater 70000
Maintenance 36000: Ward 10000, Theater 30000"""
SAID = {
    "starts_on": "2026-01-01",
    "services": ARBON,
    "ward_cost": "256100",
    "theater_cost": "498600",
    "boarding_days": "1250",
    "theater_minutes": "410000",
}


@pytest.fixture
def clinic(settings, client):
    settings.AS_OF = "2026-10-14"
    made = make.open_clinic()
    client.force_login(made.bookkeeper, BACKEND)
    return made


def send(client, **more):
    return client.post(reverse("clinic:shared_year_add"), SAID | more)


def test_the_arbon_company_stepped_down_through_the_page(client, clinic):
    for _ in range(2):
        assert send(client).status_code == 303

    found = queries.shared_costs_of(on=date(2026, 10, 14))
    assert [(step.service, step.cost_minor, step.rate) for step in found.steps] == [
        ("Admin", 84_000_00, 70),
        ("Janitorial", 72_000_00, Fraction(72, 100)),
        ("Maintenance", 60_000_00, Fraction(3, 2)),
    ]
    assert [(end.cost_minor, end.each) for end in found.ends] == [(327_500_00, 262), (615_000_00, Fraction(3, 2))]
    assert found.in_minor == found.out_minor == 942_500_00
    page = " ".join(client.get(reverse("clinic:shared_costs")).content.decode().split())
    assert "262.00 for each boarding day, 1.50 for each minute of the theater" in page and "942,500.00" in page
    assert SharedYear.objects.count() == 1 and CostBase.objects.count() == 9


def test_each_year_holds_from_its_day_on(client, clinic):
    send(client)
    assert send(client, starts_on="2027-01-01", boarding_days="2500").status_code == 303

    assert [(one.starts_on.year, one.boarding_day) for one in queries.rates(until=date(2027, 3, 1))] == [
        (2026, 262),
        (2027, 131),
    ]
    assert queries.shared_costs_of(on=date(2025, 12, 31)) is None
    assert queries.shared_costs_of(on=date(2026, 12, 31)).next_on == date(2027, 1, 1)
    answer = send(client, boarding_days="9")
    assert answer.status_code == 422 and "are set already. Choose a later day" in answer.content.decode()


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"services": "Rooms 100: Ward 0, Theater 0"}, "Nothing is left to share the cost of Rooms by"),
        ({"services": "Rooms 100:"}, "Nothing is left to share the cost of Rooms by"),
        ({"services": "Rooms 1: Ward 1\nPower 1: Ward 1\nRooms 1: Ward 1"}, "The order goes in a circle: Rooms, Power"),
        ({"services": "Rooms 100: Garden 4"}, "Garden has no cost of its own in this sharing"),
        ({"services": "Rooms 100: Ward 4, Ward 5"}, "Rooms names Ward twice"),
        ({"services": "Ward 100: Theater 4"}, "Ward shares nothing on"),
        ({"services": "Rooms 100"}, "lacks its cost or its colon"),
        ({"services": "Rooms 100: Ward much"}, "“much” is no amount"),
        ({"boarding_days": "0"}, "A cost is left with nothing to carry it"),
        ({"theater_minutes": "0"}, "A cost is left with nothing to carry it"),
        ({"ward_cost": "-1"}, "An amount is zero or more"),
    ],
)
def test_what_cannot_be_shared_is_named_and_nothing_is_written(client, clinic, more, sentence):
    answer = send(client, **more)

    assert answer.status_code == 422
    assert sentence in answer.content.decode(), answer.content.decode()[2000:]
    assert not SharedYear.objects.exists() and not CostCenter.objects.exists()


@given(
    costs=st.lists(st.integers(0, 10**7), min_size=5, max_size=5),
    bases=st.lists(st.integers(1, 500), min_size=9, max_size=9),
    days=st.integers(1, 100_000),
)
def test_what_is_shared_comes_out_whole(costs, bases, days):
    """Law: shared cost in = out, and so many units times what each carries give it back exactly."""
    names = ["rooms", "power", "office", "ward", "theater"]
    weights = iter(bases)
    users = {one: {other: next(weights) for other in names[place + 1 :]} for place, one in enumerate(names[:3])}
    done = step_down(costs=dict(zip(names, costs, strict=True)), order=names[:3], bases=users)

    assert sum(done.costs.values()) == sum(costs)
    assert per_unit(cost=done.costs["ward"], units=days, words="the ward") * days == done.costs["ward"]
