"""Earlier names and a corrected sex keep their history; an animal is found by any name or number it had (J3)."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from clinic.actions import corrections
from clinic.models import AnimalCorrection, Change
from clinic.queries.find import find
from config.refusal import Refusal
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db

CHIP, OTHER = "276098106123456", "276098106123457"


@pytest.fixture
def clinic(settings):
    settings.AS_OF = str(TODAY)
    return make.open_clinic()


@pytest.fixture
def animal(clinic):
    return clinic.admit("Rusty", chip=CHIP, partner_number="BY-1").animal


def correct(clinic, animal, why="its partner named it", on=TODAY, **said):
    return corrections.correct(animal=animal, said=said, on=on, why=why, by=clinic.nurse, today=TODAY, at=AT)


@pytest.mark.parametrize("asked", ["rusty", "Bracken", "BY-1", "BY-112", CHIP, OTHER, "276 098-106123456"])
def test_it_is_found_under_every_name_and_number_it_had(clinic, animal, asked):
    clinic.admit("Somebody else")
    correct(clinic, animal, name="Bracken", chip=OTHER, partner_number="BY-112")

    found = find(asked=asked, money_too=False).found

    assert [(one.words, "earlier Rusty" in one.detail) for one in found] == [("Bracken", True)]


def test_what_stood_before_is_kept_with_day_reason_and_who(clinic, animal, client):
    correct(clinic, animal, sex="male", why="", name="Rusty")
    correct(clinic, animal, sex="female", why="seen at the exam")
    correct(clinic, animal, name="Bracken")

    kept = AnimalCorrection.objects.order_by("pk").values_list("what", "before", "after", "on", "why", "by__initials")
    assert list(kept) == [
        ("sex", "unknown", "male", TODAY, "", "PQ"),
        ("sex", "male", "female", TODAY, "seen at the exam", "PQ"),
        ("name", "Rusty", "Bracken", TODAY, "its partner named it", "PQ"),
    ]
    assert Change.objects.filter(what="animal", after={"name": "Bracken"}, before={"name": "Rusty"}).count() == 1
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("clinic:animal", args=[animal.pk])).content.decode()
    assert "Name Rusty, until October 14, 2026: “its partner named it”" in page
    assert "Sex male, until October 14, 2026: “seen at the exam”" in page


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({"name": "Bracken", "why": " "}, "Say why the name is another one now"),
        ({"chip": OTHER}, r"The chip is that of Tansy \(26-0002\)"),
        ({"name": "Bracken", "on": TODAY + timedelta(days=1)}, "has not come yet"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(clinic, animal, said, says):
    clinic.admit("Tansy", chip=OTHER)

    with pytest.raises(Refusal, match=says):
        correct(clinic, animal, **said)

    animal.refresh_from_db()
    assert (animal.name, animal.chip, AnimalCorrection.objects.count()) == ("Rusty", CHIP, 0)


def test_a_first_chip_and_a_first_name_need_no_reason(clinic):
    animal = clinic.admit("").animal

    correct(clinic, animal, name="Bracken", chip=CHIP, why="")

    animal.refresh_from_db()
    assert (animal.name, animal.chip) == ("Bracken", CHIP)


@pytest.mark.parametrize(
    "statement", ["UPDATE clinic_animalcorrection SET before = 'x'", "DELETE FROM clinic_animalcorrection"]
)
def test_the_database_keeps_what_stood_before(clinic, animal, statement):
    correct(clinic, animal, name="Bracken")

    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)

    assert AnimalCorrection.objects.get().before == "Rusty"


def test_the_page_says_what_is_missing_at_the_field_and_loses_nothing(clinic, animal, client):
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    said = {
        "name": "Bracken",
        "sex": "female",
        "species": "dog",
        "chip": CHIP,
        "partner_number": "BY-1",
        "on": str(TODAY),
    }

    answer = client.post(reverse("clinic:correct", args=[animal.pk]), said)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'id="id_why_error"' in page
    assert 'value="Bracken"' in page
    assert client.post(reverse("clinic:correct", args=[animal.pk]), {**said, "why": "named"}).status_code == 303
