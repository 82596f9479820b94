"""People: adding somebody, roles, invitations used once, leaving; and who may do it."""

import re
from datetime import timedelta

import pytest

from clinic.actions import invitations, people
from clinic.models import Invitation, PersonChange, User
from clinic.queries import people as queries
from config.roles import Role
from tests.clinic.door import AT, PASSWORD, TODAY, house, partner, person

pytestmark = pytest.mark.django_db


@pytest.fixture
def amos():
    house()
    return person("amos", Role.MANAGER, name="Amos Yelland")


def add(by, **changed):
    said = {
        "name": "Pilar Quist",
        "initials": "PQ",
        "sign_in": "pilar",
        "roles": {Role.WARD},
        "partner": None,
        "by": by,
        "today": TODAY,
        "at": AT,
    }
    return people.add(**{**said, **changed})


def comes_in(client, sign_in):
    return client.post("/sign-in/", {"username": sign_in, "password": PASSWORD}).status_code == 303


def test_somebody_new_holds_their_roles_and_cannot_sign_in_before_an_invitation(amos, client):
    pilar = add(amos, roles={Role.WARD, Role.BOOKKEEPER})

    assert pilar.role_set == {Role.WARD, Role.BOOKKEEPER}
    assert pilar.has_usable_password() is False
    assert comes_in(client, "pilar") is False
    assert [change.what for change in pilar.changes.all()] == ["added as ward and bookkeeper"]


@pytest.mark.parametrize(
    ("changed", "refusal", "sentence"),
    [
        ({"roles": set()}, people.NoRole, "Choose at least one role"),
        ({"roles": {Role.PARTNER, Role.WARD}}, people.PartnerAlone, "nothing else"),
        ({"roles": {Role.PARTNER}}, people.PartnerMissing, "Choose the partner"),
        ({"sign_in": "AMOS"}, people.SignInTaken, "Somebody signs in as AMOS already"),
    ],
    ids=["no role", "contact with another role", "contact without a partner", "name taken in another case"],
)
def test_what_does_not_go_together_is_refused_and_nobody_is_added(amos, changed, refusal, sentence):
    with pytest.raises(refusal, match=sentence):
        add(amos, **changed)

    assert User.objects.count() == 1


def test_only_a_contact_belongs_to_a_partner(amos):
    with pytest.raises(people.PartnerMissing, match="Only a partner contact"):
        add(amos, partner=partner())


def test_roles_change_at_once_and_the_history_says_by_whom(amos):
    pilar = person("pilar", Role.WARD)

    changed = people.change_roles(person=pilar, roles={Role.VET, Role.WARD}, partner=None, by=amos, at=AT)
    people.change_roles(person=pilar, roles={Role.VET, Role.WARD}, partner=None, by=amos, at=AT)

    assert changed.role_set == {Role.VET, Role.WARD}
    shown = queries.person(person_id=pilar.pk, at=AT)
    assert [(line.what, line.by) for line in shown.changes] == [
        ("is now ward and vet", "Amos Yelland"),
        ("added as ward", "Pilar"),
    ]


def test_the_last_manager_keeps_the_role_and_stays(amos):
    left = person("greta", Role.MANAGER)
    people.leave(person=left, by=amos, today=TODAY, at=AT)

    with pytest.raises(people.LastManager, match="Amos Yelland is the only manager"):
        people.change_roles(person=amos, roles={Role.VET}, partner=None, by=amos, at=AT)
    with pytest.raises(people.LastManager):
        people.leave(person=amos, by=amos, today=TODAY, at=AT)

    assert User.objects.get(pk=amos.pk).role_set == {Role.MANAGER}
    assert User.objects.get(pk=amos.pk).is_active is True


def test_with_a_second_manager_the_first_may_go(amos):
    greta = person("greta", Role.MANAGER)

    people.leave(person=amos, by=greta, today=TODAY, at=AT)

    assert User.objects.get(pk=amos.pk).is_active is False


def test_a_leaver_is_out_at_once_and_what_they_did_keeps_their_name(amos, client):
    pilar = person("pilar", Role.MANAGER, name="Pilar Quist")
    client.force_login(pilar)
    token = invitations.invite(person=pilar, by=amos, at=AT)

    people.leave(person=pilar, by=amos, today=TODAY, at=AT)

    answer = client.get("/people/")
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/?next=/people/")
    assert comes_in(client, "pilar") is False
    with pytest.raises(invitations.InvitationGone):
        invitations.accept(token=token, password=PASSWORD, at=AT)
    shown = queries.person(person_id=pilar.pk, at=AT)
    assert (shown.row.name, shown.row.state, shown.left_on) == ("Pilar Quist", "left", TODAY)


def test_a_leaver_comes_back_with_the_roles_of_before_and_needs_an_invitation(amos):
    pilar = person("pilar", Role.WARD)
    people.leave(person=pilar, by=amos, today=TODAY, at=AT)

    back = people.come_back(person=pilar, by=amos, at=AT)

    assert (back.is_active, back.left_on, back.role_set) == (True, None, {Role.WARD})
    assert back.has_usable_password() is False
    with pytest.raises(people.PersonHere):
        people.come_back(person=pilar, by=amos, at=AT)


@pytest.mark.parametrize("action", ["change_roles", "leave"])
def test_somebody_who_left_is_not_changed(amos, action):
    pilar = person("pilar", Role.WARD)
    people.leave(person=pilar, by=amos, today=TODAY, at=AT)
    said = {"roles": {Role.VET}, "partner": None} if action == "change_roles" else {"today": TODAY}

    with pytest.raises(people.PersonLeft):
        getattr(people, action)(person=pilar, by=amos, at=AT, **said)

    assert PersonChange.objects.filter(user=pilar).count() == 2


def test_an_invitation_works_once_and_only_its_hash_is_kept(amos, client):
    pilar = add(amos)
    token = invitations.invite(person=pilar, by=amos, at=AT)

    invitations.accept(token=token, password=PASSWORD, at=AT + timedelta(days=6))

    assert comes_in(client, "pilar") is True
    assert token not in str(Invitation.objects.values())
    with pytest.raises(invitations.InvitationGone, match="Ask the manager for a new one"):
        invitations.accept(token=token, password="another long password", at=AT + timedelta(days=6))
    assert comes_in(client, "pilar") is True


@pytest.mark.parametrize("late", [timedelta(days=7), timedelta(days=400)])
def test_an_invitation_runs_out(amos, late):
    token = invitations.invite(person=add(amos), by=amos, at=AT)

    with pytest.raises(invitations.InvitationGone):
        invitations.accept(token=token, password=PASSWORD, at=AT + late)


def test_a_newer_invitation_replaces_the_older(amos):
    pilar = add(amos)
    first = invitations.invite(person=pilar, by=amos, at=AT)
    second = invitations.invite(person=pilar, by=amos, at=AT)

    with pytest.raises(invitations.InvitationGone):
        invitations.accept(token=first, password=PASSWORD, at=AT)
    assert invitations.accept(token=second, password=PASSWORD, at=AT) == pilar


def test_a_manager_adds_somebody_invites_them_and_they_come_in(amos, client, settings):
    settings.AS_OF = "2026-10-14"
    client.force_login(amos)

    added = client.post("/people/add/", {"name": "Noor Halvorsen", "initials": "nh", "sign_in": "noor", "roles": "vet"})
    noor = User.objects.get(sign_in="noor")
    shown = client.post(f"/people/{noor.pk}/invite/")
    link = re.search(r"http://testserver(/invitation/[\w-]+/)", shown.content.decode())[1]
    client.logout()
    door = client.get(link)
    refused = client.post(link, {"password": "short"})
    came_in = client.post(link, {"password": PASSWORD})

    assert (added.status_code, added["Location"]) == (303, f"/people/{noor.pk}/")
    assert noor.initials == "NH"
    assert "You sign in as <b>noor</b>" in door.content.decode()
    assert refused.status_code == 422
    assert "at least 10 characters" in refused.content.decode()
    assert (came_in.status_code, client.session["_auth_user_id"]) == (303, str(noor.pk))
    assert client.get(link).status_code == 410


def test_a_refused_form_keeps_what_was_typed_and_writes_nothing(amos, client):
    client.force_login(amos)

    answer = client.post("/people/add/", {"name": "Another Amos", "initials": "AA", "sign_in": "amos", "roles": "ward"})

    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="Another Amos"' in page
    assert "Somebody signs in as amos already" in page
    assert User.objects.count() == 1


def test_the_last_manager_is_told_on_the_page(amos, client):
    client.force_login(amos)

    answer = client.post(f"/people/{amos.pk}/leave/")

    assert answer.status_code == 422
    assert "Amos Yelland is the only manager" in answer.content.decode()


@pytest.mark.parametrize(
    ("role", "reads", "writes"),
    [(Role.MANAGER, 200, 200), (Role.READER, 200, 403), (Role.VET, 403, 403), (Role.PARTNER, 404, 404)],
    ids=lambda value: getattr(value, "value", ""),
)
def test_managers_write_readers_read_and_nobody_else_enters(amos, client, role, reads, writes):
    client.force_login(person("somebody", role, partner=partner() if role is Role.PARTNER else None))

    assert client.get("/people/").status_code == reads
    assert client.get(f"/people/{amos.pk}/").status_code == reads
    assert client.get("/people/add/").status_code == writes
    assert client.post(f"/people/{amos.pk}/invite/").status_code == writes


def test_a_page_of_nobody_is_not_found(amos, client):
    client.force_login(amos)

    assert client.get("/people/999/").status_code == 404
    assert client.post("/people/999/leave/").status_code == 404
