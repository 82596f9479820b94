"""The rules of care (B), each as an example that names it; B4 stands in test_groups.py, B8 in test_bills.py."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import care, services, sign_off, stays, visits
from clinic.models import BoardingDay, CareItem, EveningSeen, House, Observation, Stay
from clinic.queries import in_care
from clinic.queries.priced_day import priced_day
from clinic.queries.ward_sheet import ward_sheet
from ledger.queries import charges
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db

LEFT = DAY - timedelta(days=3)


@pytest.fixture
def clinic(settings):
    settings.AS_OF = str(TODAY)
    return make.open_clinic()


def leave(clinic, stay: Stay, on: date = LEFT, **more) -> Stay:
    said = {"discharged_on": on, "left_to": "foster", "why": ""} | more
    return stays.discharge(stay=stay, **said, by=clinic.vet, today=TODAY, at=AT)


def come(clinic, animal, on: date = DAY, **more) -> CareItem:
    said = {"key": uuid.uuid4(), "on": on, "service": clinic.dressing} | more
    return visits.visit(animal=animal, **said, by=clinic.nurse, today=on, at=AT)


def boards(on: date) -> list[str]:
    return [one.stay.animal.name for one in in_care.on(on, boards_only=True)]


def test_b1_the_day_of_admission_is_a_night_and_the_day_of_discharge_is_none(clinic):
    leave(clinic, clinic.admit("Ash", on=DAY - timedelta(days=2)), on=DAY)

    assert [boards(DAY - timedelta(days=back)) for back in (3, 2, 1, 0)] == [[], ["Ash"], ["Ash"], []]


def test_b1_in_and_out_on_one_day_is_one_boarding_day(clinic):
    leave(clinic, clinic.admit("Ash", on=DAY), on=DAY)

    assert (boards(DAY), boards(TODAY)) == (["Ash"], [])
    clinic.sign()
    assert BoardingDay.objects.count() == 1


def test_b1_nobody_writes_a_night_down(clinic):
    animal = clinic.admit("Ash").animal

    with pytest.raises(care.NightNotTaken, match="it follows from the stay"):
        clinic.give(animal, clinic.standard.service)

    assert not CareItem.objects.exists()


def test_b2_the_evening_asks_one_thing_and_keeps_who_said_yes_first(clinic):
    clinic.admit("Ash")
    clinic.admit("Birch")

    clinic.see_all()
    clinic.see_all()

    seen = EveningSeen.objects.get()
    assert (seen.animals, seen.by, seen.sheet.on) == (2, clinic.nurse, DAY)


def test_b3_a_visit_is_charged_and_makes_no_boarding_day(clinic):
    stay = leave(clinic, clinic.admit("Ash"))

    come(clinic, stay.animal, words="dry and closed")
    clinic.sign()

    assert [line.words for line in charges.of_subject(subject_key=stay.animal.key).lines] == ["Padded dressing"]
    assert not BoardingDay.objects.filter(on=DAY).exists()
    assert Observation.objects.get().words == "dry and closed"


def test_b3_a_night_for_an_animal_that_left_is_not_taken_and_a_visit_is_offered(clinic, client):
    animal = leave(clinic, clinic.admit("Ash")).animal
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    said = {"key": uuid.uuid4(), "animal": animal.pk, "service": clinic.standard.service.pk, "quantity": "1"}

    answer = client.post(reverse("clinic:write", args=[TODAY]), said)

    assert answer.status_code == 422
    assert "Where Ash has left, write a visit on its page" in answer.content.decode()
    assert not CareItem.objects.exists()
    page = client.get(reverse("clinic:animal", args=[animal.pk])).content.decode()
    assert reverse("clinic:visit", args=[animal.pk]) in page


def test_b3_what_was_given_after_it_left_makes_no_night_and_is_offered_as_visits(clinic, client):
    stay = clinic.admit("Ash")
    clinic.give(stay.animal, clinic.dressing)
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    said = {"discharged_on": str(LEFT), "left_to": "foster", "why": "its paw has closed"}
    address = reverse("clinic:discharge", args=[stay.animal_id])

    answer = client.post(address, said)

    page = answer.content.decode()
    assert (answer.status_code, Stay.objects.get().discharged_on) == (422, None)
    assert "was given something once after 2026-10-10" in page
    assert 'type="checkbox" name="as_visits"' in page
    assert "its paw has closed" in page
    assert client.post(address, said | {"as_visits": "on"}).status_code == 303
    assert [(row.boards, len(row.lines)) for row in priced_day(on=DAY)] == [(False, 1)]


def test_b3_who_is_in_care_has_a_row_and_no_visit(clinic):
    animal = clinic.admit("Ash").animal

    with pytest.raises(visits.InCareThen, match="Ash was in care on October 13"):
        come(clinic, animal)


def test_b5_a_care_item_has_a_price_an_observation_has_none_and_pain_never_lacks_its_scale(clinic):
    animal = clinic.admit("Ash").animal
    clinic.give(animal, clinic.dressing)
    said = {"animal": animal, "on": DAY, "by": clinic.nurse, "today": DAY, "at": AT}
    care.observe(key=uuid.uuid4(), kind="pain", value=Decimal(2), maximum=Decimal(10), **said)

    [row] = priced_day(on=DAY)

    assert [line.service.name for line in row.lines] == ["Boarding, standard", "Padded dressing"]
    with pytest.raises(IntegrityError, match="observation_pain_has_its_scale"), transaction.atomic():
        Observation.objects.update(maximum=None)


def test_b6_as_ordered_is_the_present_round_and_never_medication(clinic):
    animal = clinic.admit("Ash").animal
    for service in (clinic.dressing, clinic.tablets):
        clinic.order(animal, service, ["morning", "midday", "evening"])
    clinic.order(animal, clinic.dressing, ["evening"])

    [row] = ward_sheet(on=TODAY, today=TODAY, moment=AT.replace(hour=7), house=House.objects.get()).rows

    assert [(due.name, due.round) for due in row.now_due] == [("Padded dressing", "morning")]


def test_b7_a_late_entry_says_from_what_and_not_known_is_an_answer(clinic):
    animal = clinic.admit("Ash").animal

    with pytest.raises(care.LateWithoutSource, match="Say where it comes from"):
        clinic.give(animal, clinic.dressing, today=TODAY)
    item = clinic.give(animal, clinic.dressing, today=TODAY, late_source="paper", given_by="not known")

    assert (item.late, item.late_source, item.given_by) == (True, "paper", "not known")


def test_b9_today_is_signed_only_after_all_were_seen_and_a_row_that_is_not_ready_stays_behind(clinic):
    clinic.admit("Ash")
    bath = clinic.dressing.__class__.objects.create(code="bath", name="Bath", kind="care")
    clinic.give(clinic.admit("Birch").animal, bath, on=TODAY)

    with pytest.raises(sign_off.NotAllSeen, match="after the evening is confirmed"):
        clinic.sign(TODAY)
    clinic.see_all(TODAY)
    signed = clinic.sign(TODAY)

    assert (signed.rows, [row.animal.name for row in priced_day(on=TODAY)]) == (1, ["Birch"])


def test_b10_before_the_signature_a_fact_is_taken_back_and_afterwards_never(clinic):
    animal = clinic.admit("Ash").animal
    first, second = clinic.give(animal, clinic.dressing), clinic.give(animal, clinic.tablets)

    care.undo(item=first, by=clinic.nurse, at=AT)
    clinic.sign()

    with pytest.raises(care.RowSigned, match="corrected in the books"):
        care.undo(item=second, by=clinic.nurse, at=AT)
    assert [line.words for line in charges.of_subject(subject_key=animal.key).lines] == [
        "Boarding, standard",
        "Tablets",
    ]


@pytest.mark.parametrize(
    ("said", "field", "says"),
    [
        ({"discharged_on": "2026-09-01"}, "discharged_on", "cannot have left on 2026-09-01"),
        ({"discharged_on": "2026-10-16"}, "discharged_on", "has not come yet"),
        ({"discharged_on": "the 3rd"}, "discharged_on", "Write a date"),
        ({"left_to": "euthanized", "why": " "}, "why", "Say why, in a few words"),
        ({"ask_after": "0"}, "ask_after", "Write a number of days from 1 on"),
    ],
)
def test_a_discharge_that_cannot_be_is_refused_at_its_field(clinic, client, said, field, says):
    stay = clinic.admit("Ash")
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    said = {"discharged_on": str(TODAY), "left_to": "foster", "why": "closed", "left_with": "Odile Fenn"} | said

    answer = client.post(reverse("clinic:discharge", args=[stay.animal_id]), said)

    page = answer.content.decode()
    assert (answer.status_code, Stay.objects.get().discharged_on) == (422, None)
    assert says in page
    assert f'id="id_{field}_error"' in page
    assert "Odile Fenn" in page


def test_a_move_keeps_its_reason(clinic, client):
    room = services.add_room(name="Kennels", position=1, places=["A1", "A2"])
    stay = clinic.admit("Ash", place=room.places.get(code="A1"))
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    said = {"place": room.places.get(code="A2").pk, "why": "barks at its neighbor"}

    client.post(reverse("clinic:move", args=[stay.animal_id]), said)

    kept = stay.animal.changes.filter(what="stay").latest("pk")
    assert (kept.before, kept.after, kept.why) == ({"place": "A1"}, {"place": "A2"}, "barks at its neighbor")
