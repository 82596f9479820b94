"""A page asks the database the same number of questions however many animals stand on it."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.models import Service
from ledger.models import Fund
from tests.clinic import make
from tests.clinic.make import DAY

pytestmark = pytest.mark.django_db


def admit_many(clinic, count: int, start: int = 0) -> None:
    for number in range(start, start + count):
        animal = clinic.admit(f"Animal {number}", on=DAY - timedelta(days=3)).animal
        for service in (clinic.dressing, clinic.tablets):
            clinic.order(animal, service, ["morning", "evening"], starts_on=DAY - timedelta(days=3))
            clinic.give(animal, service)


PAGES = {
    "first page": ("clinic:home", {}),
    "ward sheet": ("clinic:ward_sheet", {"on": DAY}),
    "sign off": ("clinic:sign_off", {"on": DAY}),
    "days to sign": ("clinic:days_to_sign", {}),
    "animals": ("clinic:animals", {}),
    "follow-ups": ("clinic:follow_ups", {}),
    "admission": ("clinic:admit", {}),
    "unpaid care": ("clinic:unpaid_care", {}),
    "partners": ("clinic:partner_funds", {}),
    "prices": ("clinic:prices", {}),
    "papers": ("clinic:papers", {}),
    "month's end": ("clinic:month_end", {}),
    "rooms": ("clinic:places", {}),
    "paths": ("clinic:paths", {}),
    "people": ("clinic:people", {}),
    "backups": ("clinic:backups", {}),
}


@pytest.fixture
def clinic(settings):
    settings.AS_OF = "2026-10-14"
    return make.open_clinic()


def questions(client, clinic, name: str, **words) -> int:
    client.force_login(clinic.manager, "django.contrib.auth.backends.ModelBackend")
    with CaptureQueriesContext(connection) as asked:
        assert client.get(reverse(name, kwargs=words)).status_code == 200
    return len(asked)


@pytest.mark.parametrize("name", PAGES)
def test_the_number_of_questions_does_not_grow_with_the_animals(clinic, client, name):
    address, words = PAGES[name]
    admit_many(clinic, 2)
    questions(client, clinic, address, **words)  # what the house asks once, it has asked
    few = questions(client, clinic, address, **words)
    admit_many(clinic, 10, start=2)

    assert questions(client, clinic, address, **words) == few <= 40


def test_nor_does_a_partners_page_grow_with_what_was_charged(clinic, client):
    clinic.gift(Fund.objects.get(kind="general"), 100_000)
    admit_many(clinic, 2)
    clinic.sign()
    few = questions(client, clinic, "clinic:partner", partner_id=clinic.partner.pk)
    admit_many(clinic, 6, start=2)
    clinic.sign()

    assert questions(client, clinic, "clinic:partner", partner_id=clinic.partner.pk) == few


def test_an_animals_page_does_not_grow_with_its_days(clinic, client):
    animal = clinic.admit(on=date(2026, 10, 1)).animal
    clinic.gift(Fund.objects.get(kind="general"), 100_000)
    clinic.give(animal, Service.objects.get(code="tablets"), on=date(2026, 10, 2))
    clinic.sign(on=date(2026, 10, 2))
    few = questions(client, clinic, "clinic:animal", animal_id=animal.pk)
    for day in range(3, 14):
        clinic.give(animal, clinic.tablets, on=date(2026, 10, day))
        clinic.sign(on=date(2026, 10, day))

    assert questions(client, clinic, "clinic:animal", animal_id=animal.pk) == few
