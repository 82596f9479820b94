"""The door: who comes in, who is told what, and when signing in rests."""

import pytest
from django.core.cache import cache

from config.roles import Role
from tests.clinic.door import PASSWORD, house, person

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def pilar():
    cache.clear()
    house()
    return person("pilar", Role.WARD, name="Pilar Quist")


def try_in(client, username="pilar", password=PASSWORD, address="10.0.0.1", **more):
    said = {"username": username, "password": password, **more}
    return client.post("/sign-in/", said, REMOTE_ADDR=address)


def test_the_right_password_opens_the_first_page(client, pilar):
    answer = try_in(client)

    assert (answer.status_code, answer["Location"]) == (303, "/")
    assert client.session["_auth_user_id"] == str(pilar.pk)


def test_the_case_of_the_name_does_not_matter_that_of_the_password_does(client):
    assert try_in(client, username="PILAR").status_code == 303
    client.logout()
    assert try_in(client, password=PASSWORD.upper()).status_code == 422


def test_a_wrong_password_says_so_and_keeps_the_name(client):
    answer = try_in(client, password="not this one")

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "do not fit together" in page
    assert 'value="pilar"' in page
    assert "not this one" not in page


def test_an_unknown_name_reads_like_a_wrong_password(client):
    known = try_in(client, password="not this one").content.decode()
    unknown = try_in(client, username="nobody", password="not this one").content.decode()

    assert "do not fit together" in known
    assert "do not fit together" in unknown


@pytest.mark.parametrize(
    ("onward", "lands"),
    [("/people/?x=1", "/people/?x=1"), ("https://elsewhere.example/", "/"), ("//elsewhere.example", "/"), ("", "/")],
)
def test_signing_in_leads_where_one_wanted_to_go_but_never_out_of_the_house(client, onward, lands):
    assert try_in(client, next=onward)["Location"] == lands


def test_five_misses_lock_this_person_from_this_place_and_nobody_else(client):
    person("greta", Role.BOOKKEEPER)
    for _ in range(5):
        answer = try_in(client, password="not this one")

    assert answer.status_code == 429
    assert "rests for a quarter of an hour" in answer.content.decode()
    assert try_in(client).status_code == 429  # the right password, too late
    assert try_in(client, username="Pilar").status_code == 429  # the same person in capitals
    assert try_in(client, address="10.0.0.2").status_code == 303
    client.logout()
    assert try_in(client, username="greta").status_code == 303


def test_a_success_begins_the_count_again(client):
    for _ in range(4):
        try_in(client, password="not this one")
    try_in(client)
    client.logout()

    assert try_in(client, password="not this one").status_code == 422


def test_signing_out_is_a_form_and_ends_the_session(client, pilar):
    client.force_login(pilar)

    assert client.get("/sign-out/").status_code == 405
    assert client.post("/sign-out/")["Location"] == "/sign-in/"
    assert "_auth_user_id" not in client.session


def test_every_page_is_closed_to_the_signed_out(client):
    answer = client.get("/people/")

    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/?next=/people/")


def test_an_ended_session_sends_a_part_of_a_page_to_the_door_whole(client):
    answer = client.get("/people/", headers={"HX-Request": "true"})

    assert (answer.status_code, answer["HX-Redirect"]) == (401, "/sign-in/?next=/people/")


def test_a_form_without_its_token_is_told_to_be_stale(pilar):
    from django.test import Client

    strict = Client(enforce_csrf_checks=True)

    answer = strict.post("/sign-in/", {"username": "pilar", "password": PASSWORD})

    assert answer.status_code == 403
    assert "This form has grown old" in answer.content.decode()
