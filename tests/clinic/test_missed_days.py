"""B7: three missed days are entered side by side; nothing is filled in, and "not known" is an answer."""

from datetime import date, timedelta

import pytest

from clinic.models import CareItem, House
from clinic.queries.missed_days import missed_days
from tests.clinic import make
from tests.clinic.make import DAY, TODAY

pytestmark = pytest.mark.django_db

PAGE = "/ward/2026-10-13/missed/"
DAYS = tuple(DAY - timedelta(days=back) for back in (2, 1, 0))


@pytest.fixture
def clinic(settings, client):
    settings.AS_OF = "2026-10-14"
    clinic = make.open_clinic()
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    return clinic


@pytest.fixture
def bracken(clinic):
    """A dog with tablets twice a day, given once on the first of three days and never since."""
    animal = clinic.admit().animal
    order = clinic.order(animal, clinic.tablets, ["morning", "evening"], starts_on=DAYS[0])
    clinic.give(animal, clinic.tablets, on=DAYS[0], order=order, round="morning")
    return animal


def boxes(**only) -> list[tuple[date, str]]:
    missed = missed_days(last=DAY, today=TODAY, house=House.objects.get(), **only)
    return [(box.on, box.round) for box in missed.boxes]


def values() -> list[str]:
    return [box.value for box in missed_days(last=DAY, today=TODAY, house=House.objects.get()).boxes]


def test_each_time_that_something_was_due_and_is_not_written_down_is_a_box(bracken):
    assert boxes() == [(DAYS[0], "evening"), *[(day, name) for day in DAYS[1:] for name in ("morning", "evening")]]


def test_nothing_is_ticked_beforehand(bracken, client):
    page = client.get(PAGE).content.decode()

    assert page.count('name="given"') == 5
    assert " checked" not in page
    assert page.count(" selected") == page.count('<option value="" selected>') == 3
    assert "morning, PQ" in page


def test_what_is_ticked_is_written_with_its_days_source_and_giver(clinic, bracken, client):
    evening, _, last, *_ = values()
    said = {
        "given": [evening, last],
        f"source-{DAYS[0]}": "paper", f"giver-{DAYS[0]}": "not known",
        f"source-{DAYS[1]}": "told", f"giver-{DAYS[1]}": "Noor",
    }  # fmt: skip

    assert client.post(PAGE, said).status_code == 303
    assert client.post(PAGE, said).status_code == 422  # sent again, it is there already

    kept = CareItem.objects.filter(late=True, late_source__gt="").order_by("on").values_list(
        "on", "round", "late_source", "given_by", "recorded_by__name"
    )  # fmt: skip
    assert list(kept) == [
        (DAYS[0], "evening", "paper", "not known", "Pilar Quist"),
        (DAYS[1], "evening", "told", "Noor", "Pilar Quist"),
    ]


def test_a_day_without_source_or_giver_is_refused_at_its_fields_and_keeps_its_ticks(bracken, client):
    first = values()[0]
    before = CareItem.objects.count()

    answer = client.post(PAGE, {"given": [first]})

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Say where this day is known from: paper, memory, or told." in page
    assert "Write who gave it; “not known” is an answer." in page
    assert f'value="{first}" checked' in page
    assert CareItem.objects.count() == before


def test_nothing_ticked_is_said_and_writes_nothing(bracken, client):
    assert "Nothing is ticked, so nothing was written." in client.post(PAGE, {"sent": "1"}).content.decode()


def test_one_animal_alone_and_the_house_before_its_opening(clinic, bracken):
    other = clinic.admit("Ballast").animal
    clinic.order(other, clinic.dressing, ["midday"], starts_on=DAYS[2])

    assert boxes(animal_id=other.pk) == [(DAYS[2], "midday")]
    early = missed_days(last=date(2026, 10, 2), today=TODAY, house=House.objects.get())
    assert early.days == (date(2026, 10, 1), date(2026, 10, 2))
    assert early.earlier is None


def test_a_signed_day_takes_its_late_entry_and_says_that_it_is_charged_when_accepted(clinic, bracken, client):
    clinic.sign(on=DAYS[2])
    said = {"given": [values()[-1]], f"source-{DAYS[2]}": "memory", f"giver-{DAYS[2]}": "Pilar"}

    assert "signed off: charged when it is accepted" in client.get(PAGE).content.decode()
    assert client.post(PAGE, said).status_code == 303
    assert CareItem.objects.get(on=DAYS[2], order__isnull=False).late is True


def test_what_is_due_today_is_no_missed_day(clinic, bracken):
    assert max(on for on, _ in boxes()) == TODAY - timedelta(days=1)
    later = missed_days(last=TODAY + timedelta(days=5), today=TODAY, house=House.objects.get())
    assert later.days == DAYS and later.later is None
