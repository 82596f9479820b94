"""Grades, their hours, the minutes of a service and a month's used time, through the pages and the actions.

The nurse is the one of the reference tests: 87,360 a year over 224 days of 6 hours is 65.00 an hour.
"""

from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import staff
from clinic.models import Grade, GradeCost, Price
from clinic.queries import staff as queries
from clinic.queries.price import working
from clinic.queries.unit_costs import UnitCosts
from ledger.formulas import money
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
YEAR = {
    "people": Decimal(1),
    "yearly_cost": Decimal(87_360),
    "days": Decimal(224),
    "hours_a_day": Decimal("7.5"),
    "break_minutes_a_day": 90,
}


@pytest.fixture
def clinic(settings):
    settings.AS_OF = "2026-10-14"
    return make.open_clinic()


def nurse(clinic, name: str = "Nurse", starts_on: date = date(2026, 10, 1), **more) -> Grade:
    return staff.add_grade(name=name, starts_on=starts_on, by=clinic.bookkeeper, at=AT, **YEAR | more)


def page(client, name: str, *args) -> str:
    return " ".join(client.get(reverse(f"clinic:{name}", args=args)).content.decode().split())


def test_the_bookkeeper_adds_a_grade_and_reads_how_its_hour_comes_about(client, clinic):
    client.force_login(clinic.bookkeeper, BACKEND)
    answer = client.post(reverse("clinic:grade_add"), {"name": "Nurse", "starts_on": "2026-10-01", **YEAR})

    assert answer.status_code == 303, answer.content.decode()[-2000:]
    shown = page(client, "staff")
    assert "224 days × (7.5 h × 60 − 90)" in shown
    assert "80,640" in shown and "87,360.00" in shown and "65.00" in shown and "1.083333" in shown


def test_a_new_cost_starts_on_its_day_and_leaves_the_days_before_it_alone(client, clinic):
    grade = nurse(clinic)
    client.force_login(clinic.bookkeeper, BACKEND)
    said = {"starts_on": "2026-11-01", **YEAR, "yearly_cost": "100800"}
    assert client.post(reverse("clinic:grade", args=[grade.pk]), said).status_code == 303

    assert [line.hour_minor for line in queries.grades(on=date(2026, 10, 31))] == [65_00]
    assert [line.hour_minor for line in queries.grades(on=date(2026, 11, 1))] == [75_00]
    assert "from November 1, 2026: " in page(client, "staff")
    answer = client.post(reverse("clinic:grade", args=[grade.pk]), said | {"yearly_cost": "1"})
    assert answer.status_code == 422
    assert "already has a cost from 2026-11-01" in answer.content.decode()
    assert GradeCost.objects.count() == 2


def test_a_year_without_minutes_is_named_and_nothing_is_written(client, clinic):
    client.force_login(clinic.bookkeeper, BACKEND)
    said = {"name": "Nurse", "starts_on": "2026-10-01", **YEAR, "hours_a_day": "1.5"}
    answer = client.post(reverse("clinic:grade_add"), said)

    assert answer.status_code == 422
    assert "no minutes of work to share this cost over" in answer.content.decode()
    assert not Grade.objects.exists() and not GradeCost.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "refusal"),
    [
        ({"people": Decimal(0)}, staff.NobodyWorks),
        ({"yearly_cost": Decimal(-1)}, staff.CostNegative),
        ({"days": Decimal(0)}, staff.NoTimeForWork),
    ],
)
def test_figures_that_cannot_be_are_refused(clinic, wrong, refusal):
    with pytest.raises(refusal), transaction.atomic():
        nurse(clinic, **wrong)

    assert not Grade.objects.exists()


def test_the_database_keeps_time_for_work(clinic):
    cost = nurse(clinic).costs.get()

    with pytest.raises(IntegrityError), transaction.atomic():
        GradeCost.objects.filter(pk=cost.pk).update(break_minutes_a_day=450)


def test_a_grade_that_is_there_is_not_added_again_under_other_dates(clinic):
    nurse(clinic)

    assert nurse(clinic).costs.count() == 1
    with pytest.raises(staff.GradeKnown, match="There is a grade Nurse already"):
        nurse(clinic, name="NURSE", starts_on=date(2026, 11, 1))


def test_the_staff_time_of_a_service_stands_beside_its_typed_price_and_changes_none(client, clinic):
    """12 minutes of a nurse at 65.00 an hour are 13.00, 4 of a vet at 180.00 an hour 12.00."""
    grade, vet = nurse(clinic), nurse(clinic, name="Veterinarian", yearly_cost=Decimal(241_920))
    before = list(Price.objects.values_list())
    client.force_login(clinic.bookkeeper, BACKEND)
    said = {f"grade_{grade.pk}": "12", f"grade_{vet.pk}": "4"}
    assert client.post(reverse("clinic:service_minutes", args=[clinic.dressing.pk]), said).status_code == 303

    time = working(service=clinic.dressing, on=TODAY)
    assert [(line.words, line.quantity, line.rate, line.amount) for line in time.lines] == [
        ("Nurse", "12 min", Decimal("1.083333"), 13),
        ("Veterinarian", "4 min", 3, 12),
    ]
    assert time.cost == 25 and not time.used
    assert "25.00" in page(client, "price", clinic.dressing.pk)
    assert list(Price.objects.values_list()) == before
    before_any = working(service=clinic.dressing, on=date(2026, 9, 30))
    assert before_any.obstacle == "Nurse and Veterinarian have no cost on that day"


def test_minutes_of_two_grades_are_rounded_together_and_once(clinic):
    """1 minute each at 65.00 an hour is 1.0833...: two are 2.1666..., so 2.17 and not twice 1.08."""
    both = [nurse(clinic), nurse(clinic, name="Technician")]
    staff.set_minutes(service=clinic.dressing, minutes={grade.pk: Decimal(1) for grade in both})

    costs = UnitCosts(services=[clinic.dressing.pk], until=TODAY)
    assert money.to_minor(costs.of(clinic.dressing.pk, on=TODAY).amount, "USD") == 2_17


def test_a_months_time_is_what_was_signed_and_free_minutes_stand_apart(client, clinic):
    """6,720 minutes a month (a twelfth of 80,640); a day of 15 and two dressings of 12 are 39; a third was free."""
    grade = nurse(clinic)
    staff.set_minutes(service=clinic.standard.service, minutes={grade.pk: Decimal(15)})
    staff.set_minutes(service=clinic.dressing, minutes={grade.pk: Decimal(12)})
    stay = clinic.admit("Bracken", on=DAY)
    clinic.give(stay.animal, clinic.dressing, quantity="2")
    clinic.give(stay.animal, clinic.dressing, given_free=True)
    clinic.give(stay.animal, clinic.tablets)
    assert queries.capacity(on=DAY).lines[0].used == 0  # nothing is signed yet
    clinic.see_all()
    clinic.sign()

    month = queries.capacity(on=DAY)
    line = month.lines[0]
    assert (line.supplied, line.used, line.unused, line.free) == (6_720, 39, 6_681, 12)
    assert (line.supplied_minor, line.assigned_minor, line.unused_minor) == (7_280_00, 42_25, 7_237_75)
    assert month.without_minutes == ("Tablets",)
    client.force_login(clinic.reader, BACKEND)
    assert "7,237.75" in page(client, "capacity", DAY)
    assert queries.capacity(on=date(2026, 11, 3)).lines[0].used == 0
