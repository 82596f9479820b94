"""Admission at the door: sensible defaults, the chip by ISO 11784, who was here before, one stay at a time."""

import uuid
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from clinic.actions import animals, services, stays
from clinic.models import Animal, Owner, Photo, Stay, StayLevel
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.test_uploads import picture

pytestmark = pytest.mark.django_db

CHIP = "276098106123456"


@pytest.fixture
def clinic(settings, tmp_path):
    settings.MEDIA_ROOT, settings.AS_OF = tmp_path, str(TODAY)
    return make.open_clinic()


@pytest.fixture
def door(client, clinic):
    """Return a function that sends the form of the door, with what differs from the shortest one."""
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")

    def send(**said):
        said = {"key": uuid.uuid4(), "name": "Rusk", "species": "Dog", "admitted_on": str(TODAY)} | said
        answer = client.post(reverse("clinic:admit"), said)
        return answer.status_code, answer.content.decode()

    return send


def refused(answer, says: str, field: str) -> None:
    status, page = answer
    assert status == 422, page
    assert says in page.replace("&#x27;", "'"), page
    assert f'id="id_{field}_error"' in page
    assert "Rusk" in page


def leave(clinic, stay, on=TODAY):
    said = {"discharged_on": on, "left_to": "partner", "why": ""}
    stays.discharge(stay=stay, **said, by=clinic.nurse, today=TODAY, at=AT)


def test_name_and_species_are_enough_and_the_rest_is_as_usual(clinic, door):
    room = services.add_room(name="Kennels", position=1, places=["A1", "A2"])
    rest = services.add_boarding_level(code="rest", name="Rest", position=2, standard_minutes=5)
    clinic.admit("Ash", on=DAY, place=room.places.get(code="A1"), level=rest)

    assert door()[0] == 303

    stay = Stay.objects.get(animal__name="Rusk")
    assert (stay.animal.species, stay.place.code, StayLevel.objects.get(stay=stay).level) == ("dog", "A2", rest)
    assert door(name="Sparrow", species="cat")[0] == 303
    sparrow = Stay.objects.get(animal__name="Sparrow")
    assert (sparrow.place, StayLevel.objects.get(stay=sparrow).level) == (None, clinic.standard)


def test_a_photo_and_a_hold_come_with_the_animal(clinic, door):
    upload = SimpleUploadedFile("rusk.jpg", picture(), content_type="image/jpeg")
    until = TODAY + timedelta(days=7)

    assert door(photo=upload, owner="on_hold", owner_until=str(until), chip=CHIP)[0] == 303

    animal = Animal.objects.get(name="Rusk")
    assert (animal.chip, Photo.objects.get().animal, Owner.objects.get().until_on) == (CHIP, animal, until)


def test_a_hold_without_an_end_is_refused_at_its_field(clinic, door):
    refused(door(owner="on_hold"), "A hold ends on a day", "owner_until")
    assert not Animal.objects.exists()


@pytest.mark.parametrize(
    ("chip", "says"),
    [
        ("27609810612345", "A chip number has 15 digits, or 10 on an older chip; this one has 14."),
        ("2760981061234567", "this one has 16"),
        ("000098106123456", "no country and no maker"),
        ("276999999999999", "larger than any chip can carry"),
        ("27609810612345O", "digits only"),
    ],
)
def test_a_chip_that_cannot_be_is_refused_at_its_field(clinic, door, chip, says):
    """ISO 11784 (second hand): 15 digits, three of country or maker, twelve of at most 274,877,906,943."""
    answer = door(chip=chip)

    refused(answer, says, "chip")
    assert chip in answer[1]
    assert not Animal.objects.exists()


def test_who_was_here_before_is_offered_by_its_chip(clinic, door):
    stay = clinic.admit("Tansy", chip=CHIP)
    leave(clinic, stay)

    answer = door(chip=CHIP)

    refused(answer, "Tansy (26-0001) was here before", "chip")
    assert reverse("clinic:readmit", args=[stay.animal_id]) in answer[1]
    refused(door(chip=CHIP, another="yes"), "This animal was here before: the chip is that of Tansy", "chip")
    assert Animal.objects.count() == 1


def test_the_partners_number_offers_the_animal_and_another_may_carry_it(clinic, door):
    clinic.admit("Tansy", partner_number="BY-104")
    said = {"partner": clinic.partner.pk, "partner_number": "by-104"}

    answer = door(**said)

    refused(answer, "Tansy (26-0001) was here before", "partner_number")
    assert "It is in care now." in answer[1]
    assert door(**said, another="yes")[0] == 303


def test_the_same_form_sent_twice_is_one_animal(clinic, door):
    key = uuid.uuid4()

    assert (door(key=key, chip=CHIP)[0], door(key=key, chip=CHIP)[0]) == (303, 303)
    assert Animal.objects.count() == 1


def test_a_photo_is_asked_for_again_when_something_else_was_wrong(clinic, door):
    answer = door(chip="1", photo=SimpleUploadedFile("rusk.jpg", picture(), content_type="image/jpeg"))

    refused(answer, "Choose the photo again", "photo")


def test_a_second_stay_while_one_is_open_is_refused_at_the_date(clinic, client):
    stay = clinic.admit("Tansy")
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")

    answer = client.post(reverse("clinic:readmit", args=[stay.animal_id]), {"admitted_on": str(TODAY)})

    assert answer.status_code == 422
    assert "Tansy is in care already" in answer.content.decode()
    assert Stay.objects.count() == 1


def test_a_house_without_a_level_says_so(clinic):
    StayLevel.objects.all().delete()
    clinic.standard.delete()

    with pytest.raises(animals.NoLevel, match="There is no boarding level yet"):
        clinic.admit(level=None)
