"""B6: orders have rounds and an interval, are due or overdue, and stopping one keeps its past."""

from datetime import UTC, datetime, timedelta

import pytest

from clinic.actions import orders
from clinic.models import Change, House
from clinic.queries import ward_sheet
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic():
    return make.open_clinic()


@pytest.fixture
def bracken(clinic):
    return clinic.admit().animal


def stands(animal, *, on=TODAY, hour: int = 12):
    """Return the kits of an animal on a day, at an hour of today, as (state, given, of, how)."""
    moment = datetime(2026, 10, 14, hour, tzinfo=UTC)
    shown = {"on": on, "today": TODAY, "moment": moment, "house": House.objects.get()}
    return [(due.state, due.given, due.of, due.how) for due in ward_sheet.kits(animal=animal, **shown).dues]


@pytest.mark.parametrize(
    ("hour", "state", "how"),
    [(8, "later", "midday"), (12, "due", "due"), (17, "over", "midday overdue"), (22, "over", "midday overdue")],
)
def test_what_is_due_at_midday_is_later_then_due_then_overdue(clinic, bracken, hour, state, how):
    clinic.order(bracken, clinic.dressing, ["midday"])

    assert stands(bracken, hour=hour) == [(state, 0, 1, how)]


@pytest.mark.parametrize(
    ("begun", "state"), [(0, "due"), (1, "over"), (2, "over"), (3, "due"), (4, "over"), (6, "due")]
)
def test_an_order_of_every_third_day_is_due_on_its_days_and_overdue_until_it_is_given(clinic, bracken, begun, state):
    order = clinic.order(bracken, clinic.dressing, ["midday"], starts_on=TODAY - timedelta(days=begun))
    order.every_days = 3
    order.save(update_fields=["every_days"])

    assert [found[0] for found in stands(bracken)] == [state]


def test_given_since_it_fell_due_it_asks_for_nothing_until_its_next_day(clinic, bracken):
    order = clinic.order(bracken, clinic.dressing, ["midday"], starts_on=TODAY - timedelta(days=2))
    order.every_days = 3
    order.save(update_fields=["every_days"])
    clinic.give(bracken, clinic.dressing, on=TODAY - timedelta(days=2), order=order, round="midday")

    assert stands(bracken) == []


def test_stopping_an_order_keeps_what_it_was_given_and_asks_for_nothing_more(clinic, bracken):
    day = TODAY - timedelta(days=1)
    order = clinic.order(bracken, clinic.tablets, ["morning", "midday", "evening"], starts_on=day)
    for on in (day, TODAY):
        clinic.give(bracken, clinic.tablets, on=on, order=order, round="morning")

    orders.stop(order=order, on=TODAY, by=clinic.vet, at=AT, why="eats well")

    assert stands(bracken) == [("done", 1, 1, "given, PQ 12:00")]
    assert stands(bracken, on=day) == [("over", 1, 3, "1 of 3, midday overdue")]
    assert stands(bracken, on=TODAY + timedelta(days=1)) == []
    assert Change.objects.latest("pk").why == "eats well"


def test_an_overdue_order_that_is_stopped_is_overdue_no_more(clinic, bracken):
    order = clinic.order(bracken, clinic.dressing, ["midday"], starts_on=TODAY - timedelta(days=1))
    order.every_days = 3
    order.save(update_fields=["every_days"])
    assert [found[0] for found in stands(bracken)] == ["over"]

    orders.stop(order=order, on=TODAY, by=clinic.vet, at=AT)

    assert stands(bracken) == []


def test_stopping_it_again_changes_nothing(clinic, bracken):
    order = clinic.order(bracken, clinic.tablets, ["morning"])
    orders.stop(order=order, on=TODAY, by=clinic.vet, at=AT)
    lines = Change.objects.count()

    again = orders.stop(order=order, on=TODAY + timedelta(days=3), by=clinic.manager, at=AT)

    assert (again.stopped_on, again.stopped_by, Change.objects.count()) == (TODAY, clinic.vet, lines)
