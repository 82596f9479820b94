"""How signing off and the ward sheet grow with the number of animals, measured through the actions and the pages."""

import statistics
import time
import uuid
from datetime import date, timedelta
from decimal import Decimal

from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.actions import animals, care, orders, prices, services, sign_off
from clinic.models import Service
from clinic.queries import sign_off as preview
from ledger.models import Entry, Fund
from tests.clinic import make
from tests.clinic.make import AT, TODAY

LINES = 9  # beside the boarding day of each animal
FIRST = TODAY - timedelta(days=13)  # the clinic of the tests opens on this day


def signing() -> list[tuple[str, float, float]]:
    """Sign ten lines of care for each of 200 animals at once, against the same for 2."""
    clinic, given = _clinic()
    clinic.gift(Fund.objects.get(kind="general"), 10_000_000_00)
    days = [FIRST + timedelta(days=number) for number in range(6)]
    _admit(clinic, 2, on=days[0])
    small = statistics.median([_signed(clinic, given, on) for on in days[:5]])
    _admit(clinic, 198, on=days[5])
    large = _signed(clinic, given, days[5])
    lines = 200 * (LINES + 1)
    if Entry.objects.filter(kind="charge", on=days[5]).count() != lines:
        raise AssertionError("the large day is not as large as it says")
    return [(f"signing off {lines:,} charges in one transaction against 20", large / small, 100)]


def sheets() -> list[tuple[str, float, float]]:
    """Ask for the page of the ward sheet with 6 animals, then with 60, each with four orders and what was given."""
    clinic, given = _clinic()
    _ward(clinic, given, 6)
    small, few = _shown(clinic)
    _ward(clinic, given, 54)
    large, many = _shown(clinic)
    return [
        ("the ward sheet of 60 animals against 6, in time", large / small, 8),
        ("the ward sheet of 60 animals against 6, in queries", many / few, 1),
    ]


def _clinic() -> tuple[make.Clinic, list[Service]]:
    clinic = make.open_clinic()
    given = []
    for number in range(LINES):
        service = services.add_service(code=f"care-{number}", name=f"Care number {number}", kind="care")
        prices.set_price(
            service=service, starts_on=date(2026, 7, 1), cost=Decimal("9.85"), usual_fee=Decimal(26),
            asked=Decimal(12), by=clinic.manager, at=AT,
        )  # fmt: skip
        given.append(service)
    return clinic, given


def _admit(clinic: make.Clinic, count: int, *, on: date) -> list[animals.Animal]:
    with transaction.atomic():
        return [clinic.admit(f"Animal {number}", on=on).animal for number in range(count)]


def _signed(clinic: make.Clinic, given: list[Service], on: date) -> float:
    """Give everybody everything on a day, read the preview, and return how long the signature takes."""
    facts = [
        care.Given(key=uuid.uuid4(), animal=animal, on=on, service=service)
        for animal in animals.Animal.objects.filter(stays__admitted_on__lte=on)
        for service in given
    ]
    for start in range(0, len(facts), 500):
        care.record_all(facts=facts[start : start + 500], by=clinic.nurse, today=on, at=AT)
    read = preview.sign_off(on=on, today=TODAY).digest
    start = time.perf_counter()
    with transaction.atomic(durable=True):
        sign_off.sign(key=uuid.uuid4(), on=on, digest=read, by=clinic.manager, today=TODAY, at=AT)
    return time.perf_counter() - start


def _ward(clinic: make.Clinic, given: list[Service], count: int) -> None:
    for animal in _admit(clinic, count, on=TODAY - timedelta(days=1)):
        with transaction.atomic():
            for number, service in enumerate(given[:4]):
                order = orders.give(
                    key=uuid.uuid4(), animal=animal, service=service, rounds=["morning", "midday", "evening"],
                    starts_on=TODAY, by=clinic.vet, at=AT,
                )  # fmt: skip
                if number % 2:
                    clinic.give(animal, service, on=TODAY, order=order, round="morning")


def _shown(clinic: make.Clinic) -> tuple[float, int]:
    """Return the median time of the page, and how many queries it makes."""
    client = Client()
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    address = reverse("clinic:ward_sheet", args=[TODAY])
    times = []
    for _ in range(12):
        start = time.perf_counter()
        if client.get(address).status_code != 200:
            raise AssertionError("the ward sheet was not shown")
        times.append(time.perf_counter() - start)
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    return statistics.median(times[2:]), len(asked)
