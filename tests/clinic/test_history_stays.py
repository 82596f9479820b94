"""The opening date: what began before it is history, never on a sheet, never priced, never missing."""

from datetime import date

import pytest

from clinic.models import House, Stay
from clinic.queries import home, in_care, unsigned_days
from config.roles import Role
from ledger.actions import holder
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db


def test_a_stay_of_before_the_opening_is_on_no_sheet_and_on_no_list():
    clinic = make.open_clinic()
    animal = clinic.admit().animal
    Stay.objects.update(discharged_on=date(2026, 10, 4))
    Stay.objects.create(animal=animal, admitted_on=date(2026, 10, 5), is_history=True)
    house = House.objects.get()

    assert in_care.on(DAY) == ()
    assert clinic.preview(on=DAY).rows == ()
    assert [day.on for day in unsigned_days.waiting(today=TODAY, house=house)] == [date(2026, 10, 3)]
    assert home.home(on=TODAY, moment=AT, house=house, roles=frozenset({Role.WARD})).in_care == 0


def test_a_house_that_has_just_been_set_up_is_told_where_to_begin():
    House.objects.create(pk=1, name="Tarn Veterinary Practice", opening_on=TODAY, time_zone="UTC")
    holder.set_up(
        kind="practice",
        name="Tarn Veterinary Practice",
        number="",
        country="GB",
        currency="GBP",
        fiscal_year_starts=4,
        on=TODAY,
        by=1,
    )

    found = home.home(on=TODAY, moment=AT, house=House.objects.get(), roles=frozenset({Role.MANAGER}))

    assert [need.words for need in found.needs] == ["boarding level to name", "price list"]
