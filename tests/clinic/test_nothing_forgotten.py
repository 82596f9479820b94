"""What the first page does not let slip: evenings nobody confirmed (B2), orders nobody wrote down (B7)."""

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


def not_written(role: Role = Role.WARD) -> list[tuple[int, str, str, str]]:
    found = home(on=TODAY, moment=AT, house=House.objects.get(), roles=frozenset({role}))
    return [
        (need.count, need.words, need.detail, need.address) for need in found.needs if "not written down" in need.words
    ]


@pytest.fixture
def bracken(clinic):
    """Here for five days, with tablets twice a day since the second."""
    animal = clinic.admit("Bracken", on=DAY - timedelta(days=4)).animal
    return animal, clinic.order(animal, clinic.tablets, ["morning", "evening"], starts_on=DAY - timedelta(days=3))


def give(clinic, bracken, *, back: int, rounds: tuple[str, ...] = ("morning", "evening")) -> None:
    animal, order = bracken
    for name in rounds:
        clinic.give(animal, clinic.tablets, on=DAY - timedelta(days=back), order=order, round=name)


def test_an_order_of_past_days_that_nobody_wrote_down_is_named_with_its_day_and_round(clinic, bracken):
    give(clinic, bracken, back=2)
    give(clinic, bracken, back=1, rounds=("evening",))
    give(clinic, bracken, back=0)

    assert not_written() == [
        (
            1,
            "order of past days not written down",
            "Tablets for Bracken on Monday morning. Was it given?",
            "/ward/2026-10-13/missed/",
        )
    ]
    assert not_written(Role.BOOKKEEPER) == []


def test_three_days_back_and_both_rounds_are_counted_singly_signed_off_or_not(clinic, bracken):
    clinic.sign(on=DAY - timedelta(days=2))

    assert [(count, detail) for count, _, detail, _ in not_written()] == [
        (
            6,
            "Tablets for Bracken on Sunday morning and evening, tablets for Bracken on Monday morning and evening, "
            "tablets for Bracken on Tuesday morning and evening. Were they given?",
        )
    ]


def test_what_is_written_down_late_is_asked_for_no_more(clinic, bracken):
    for back in (2, 1, 0):
        give(clinic, bracken, back=back)

    assert not_written() == []


def test_the_day_an_order_began_and_the_days_of_coming_and_leaving_are_not_asked_about(clinic):
    stay = clinic.admit("Nettle", on=DAY - timedelta(days=1))
    clinic.order(stay.animal, clinic.tablets, ["morning"], starts_on=DAY - timedelta(days=1))
    stays.discharge(stay=stay, discharged_on=DAY, left_to="foster", why="", by=clinic.nurse, today=TODAY, at=AT)
    late = clinic.admit("Sorrel", on=DAY - timedelta(days=3)).animal
    clinic.order(late, clinic.tablets, ["morning"], starts_on=DAY)

    assert not_written() == []
