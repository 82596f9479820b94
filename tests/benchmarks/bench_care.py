"""How signing off and the ward sheet grow with the number of animals, measured through the actions and the pages."""

import statistics
import time
import uuid
from datetime import date, timedelta
from decimal import Decimal
from urllib.parse import urlencode

from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext, override_settings
from django.urls import include, path, reverse

from clinic.actions import animals, care, orders, prices, services, sign_off
from clinic.formulas import sheet_keys
from clinic.models import CareItem, Order, Service
from clinic.queries import sign_off as preview
from config.access import gate
from config.roles import CARE
from ledger.models import Entry, Fund
from tests.clinic import make
from tests.clinic.make import AT, TODAY

LINES = 9  # beside the boarding day of each animal
TAPS = 40
FORM = "application/x-www-form-urlencoded"  # as a browser sends a form without files
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
    """Ask for the page of the ward sheet with 6, 60 and 200 animals, each with four orders and what was given."""
    clinic, given = _clinic()
    shown = []
    for more in (6, 54, 140):
        _ward(clinic, given, more)
        shown.append(_shown(clinic))
    (small, few, _), (large, many, _), (_, most, sent) = shown
    return [
        ("the ward sheet of 60 animals against 6, in time", large / small, 8),
        ("the ward sheet of 60 animals against 6, in queries", many / few, 1),
        ("the ward sheet of 200 animals against 6, in queries", most / few, 1),
        ("the ward sheet of 200 animals as it is sent, against 150 kB", sent / 150_000, 1),
    ]


def taps() -> list[tuple[str, float, float]]:
    """Tap on kits of a ward of 24 animals, then of 200, each tap beside a bare view that inserts one row."""
    clinic, given = _clinic()
    found: list[tuple[str, float, float]] = []
    asked = []
    for count, more in ((24, 24), (200, 176)):
        _ward(clinic, given, more)
        ratio, queries, sent = _tapped(clinic)
        asked.append(queries)
        found += [
            (f"a tap on the sheet of {count} animals against a view that inserts one row", ratio, 3),
            (f"the answer to a tap, {count} animals, as it is sent, against 3 kB", sent / 3_000, 1),
        ]
    return [*found, ("a tap with 200 animals against 24, in queries", asked[1] / asked[0], 1)]


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


def _shown(clinic: make.Clinic) -> tuple[float, int, int]:
    """Return the median time of the page, how many queries it makes, and how many bytes are sent."""
    client = _client(clinic)
    address = reverse("clinic:ward_sheet", args=[TODAY])
    times = []
    for _ in range(12):
        start = time.perf_counter()
        answer = client.get(address)
        times.append(time.perf_counter() - start)
        if answer.status_code != 200:
            raise AssertionError("the ward sheet was not shown")
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    return statistics.median(times[2:]), len(asked), len(answer.content)


@override_settings(ROOT_URLCONF=__name__)
def _tapped(clinic: make.Clinic) -> tuple[float, int, int]:
    """Return a tap over the bare view, each by its quicker quarter, a tap's queries, and the bytes of its answer."""
    client, address = _client(clinic), reverse("clinic:tick", args=[TODAY])
    taps, bare = [], []
    for order in Order.objects.select_related("animal", "service").order_by("-pk")[: 2 * TAPS : 2]:
        tick = sheet_keys.tick(TODAY, order_key=order.key, round_name="midday", turn=0)
        spent, answer = _sent(client, address, {"key": tick, "order": order.pk, "round": "midday"})
        taps.append(spent)
        bare.append(_sent(client, "/bare/", {"animal": order.animal_id, "service": order.service_id})[0])
    with CaptureQueriesContext(connection) as asked:
        _sent(client, address, {"key": uuid.uuid4(), "order": order.pk, "round": "evening"})
    quick, quickest = (statistics.quantiles(times, n=4)[0] for times in (taps, bare))
    return quick / quickest, len(asked), len(answer.content)


def _client(clinic: make.Clinic) -> Client:
    """A browser of the nurse, which reads compressed answers."""
    client = Client(headers={"accept-encoding": "gzip"})
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    return client


def _sent(client: Client, address: str, said: dict[str, object]) -> tuple[float, HttpResponse]:
    body = urlencode(said)
    start = time.perf_counter()
    answer = client.post(address, body, content_type=FORM, headers={"HX-Request": "true"})
    spent = time.perf_counter() - start
    if answer.status_code != 200:
        raise AssertionError(f"{address} answered {answer.status_code}")
    return spent, answer


@gate(write=CARE)
def bare(request: HttpRequest) -> HttpResponse:
    """Insert one row in a durable transaction, as little as a view can do that keeps anything."""
    with transaction.atomic(durable=True):
        CareItem.objects.create(
            key=uuid.uuid4(), animal_id=int(request.POST["animal"]), on=TODAY,
            service_id=int(request.POST["service"]), quantity=1, recorded_by=request.user, recorded_at=AT,
        )  # fmt: skip
    return HttpResponse("kept")


urlpatterns = [path("bare/", bare), path("", include("config.urls"))]
