"""Setting up a real clinic: once, with the code, whole or not at all."""

import pytest

from clinic.actions import set_up as actions
from clinic.models import House, SetUpCode, User
from config.roles import Role
from ledger.queries import holder as books
from tests.clinic.door import AT, PASSWORD, house

pytestmark = pytest.mark.django_db

SAID = {
    "holder_kind": "own_charity",
    "holder_name": "Larkweir Animal Fund",
    "number": "12-3456789",
    "country": "US",
    "currency": "USD",
    "fiscal_year_starts": "7",
    "house_name": "Larkweir Veterinary Practice",
    "address": "14 Tollgate Row, Larkweir",
    "time_zone": "America/New_York",
    "ward_turns_at": "4",
    "opening_on": "2026-04-01",
    "name": "Amos Yelland",
    "initials": "ay",
    "sign_in": "amos",
    "password": PASSWORD,
    "also": ["vet"],
}


def send(client, **changed):
    return client.post("/set-up/", {**SAID, **changed})


def test_with_the_code_the_house_stands_and_its_manager_is_signed_in(client):
    code = actions.offer_code(at=AT)

    answer = send(client, code=code.lower().replace("-", " "))

    amos = User.objects.get()
    stands = House.objects.get()
    assert (answer.status_code, answer["Location"]) == (303, "/")
    assert client.session["_auth_user_id"] == str(amos.pk)
    assert (amos.name, amos.initials, amos.role_set) == ("Amos Yelland", "AY", {Role.MANAGER, Role.VET})
    assert amos.check_password(PASSWORD) is True
    assert (stands.name, stands.time_zone, stands.paper) == (
        "Larkweir Veterinary Practice",
        "America/New_York",
        "letter",
    )
    assert (books.holder().name, books.holder().currency) == ("Larkweir Animal Fund", "USD")
    assert SetUpCode.objects.exists() is False


def test_the_page_is_gone_once_the_house_stands(client):
    house()

    assert client.get("/set-up/").status_code == 404
    with pytest.raises(actions.HouseStands):
        actions.offer_code(at=AT)


def test_before_it_stands_the_door_leads_to_the_set_up(client):
    assert client.get("/sign-in/")["Location"] == "/set-up/"


@pytest.mark.parametrize("code", ["AAAA-AAAA-AAAA-AAAA", "x"], ids=["another code", "no code"])
def test_another_code_opens_nothing(client, code):
    actions.offer_code(at=AT)

    answer = send(client, code=code)

    assert answer.status_code == 422
    assert "This is not the code" in answer.content.decode()
    assert (House.objects.count(), User.objects.count()) == (0, 0)


def test_only_the_code_printed_last_fits_and_it_is_kept_as_a_hash(client):
    first = actions.offer_code(at=AT)
    second = actions.offer_code(at=AT)

    assert second not in str(SetUpCode.objects.values())
    assert send(client, code=first).status_code == 422
    assert send(client, code=second).status_code == 303


def test_without_a_code_ever_printed_nothing_opens(client):
    assert send(client, code="AAAA-AAAA-AAAA-AAAA").status_code == 422
    assert House.objects.exists() is False


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"password": "short"}, "at least 10 characters"),
        ({"number": ""}, "A registered charity has a number"),
        ({"ward_turns_at": "24"}, "less than or equal to 23"),
        ({"time_zone": "Nowhere/Town"}, "Select a valid choice"),
        ({"currency": "XXX"}, "Select a valid choice"),
        ({"opening_on": "the first"}, "Enter a valid date"),
        ({"name": ""}, "This field is required"),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else "",
)
def test_a_wrong_word_is_told_at_its_field_and_nothing_is_written(client, changed, sentence):
    code = actions.offer_code(at=AT)

    answer = send(client, code=code, **changed)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert "Larkweir Animal Fund" in page
    assert (House.objects.count(), User.objects.count()) == (0, 0)
