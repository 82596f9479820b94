"""B2: the first page asks for each evening of the last week that nobody confirmed, while somebody was in care."""

from datetime import timedelta

import pytest

from clinic.actions import stays
from clinic.models import House
from clinic.queries.home import home
from config.roles import Role
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic():
    return make.open_clinic()


def evenings(role: Role = Role.WARD) -> list[tuple[int, str, str, str]]:
    found = home(on=TODAY, moment=AT, house=House.objects.get(), roles=frozenset({role}))
    return [
        (need.count, need.words, need.detail, need.address) for need in found.needs if need.words.startswith("evening")
    ]


def test_one_evening_is_named_with_its_day_and_leads_to_its_sheet(clinic):
    clinic.admit(on=DAY)

    assert evenings() == [
        (1, "evening not confirmed", "Tuesday: nobody has written that all were seen.", "/ward/2026-10-13/")
    ]
    clinic.see_all(DAY)
    assert evenings() == []


def test_several_evenings_are_one_line_and_the_oldest_comes_first(clinic):
    clinic.admit(on=DAY - timedelta(days=3))
    clinic.see_all(DAY - timedelta(days=1))

    assert evenings() == [
        (
            3,
            "evenings not confirmed",
            "Saturday, Sunday, Tuesday: nobody has written that all were seen.",
            "/ward/2026-10-10/",
        )
    ]


def test_an_evening_with_nobody_in_care_asks_for_nothing(clinic):
    stay = clinic.admit(on=DAY - timedelta(days=1))
    stays.discharge(stay=stay, discharged_on=DAY, left_to="foster", why="", by=clinic.nurse, today=TODAY, at=AT)

    assert [found[3] for found in evenings()] == ["/ward/2026-10-12/"]


def test_who_does_not_stand_in_the_ward_is_not_asked(clinic):
    clinic.admit(on=DAY)

    assert evenings(Role.BOOKKEEPER) == []
