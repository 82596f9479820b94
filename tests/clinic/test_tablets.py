"""J2: on an enrolled tablet people change by initials and a short code, for the ward only."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from clinic.actions import people, tablets
from clinic.models import CareItem, ShortCode, Tablet, WrongCode
from config import clock
from config.roles import Role
from tests.clinic import make
from tests.clinic.make import AT, TODAY
from tests.test_access import addresses, gate_of

pytestmark = pytest.mark.django_db

SHEET = "/ward/2026-10-14/"
OF_THE_SHEET = {
    *("ward_sheet_today", "ward_sheet", "since", "worker", "offline", "row", "cage_card_row", "sign_out"),
    *("tick", "again", "write", "note", "measured", "undo", "as_ordered", "all_seen"),
}


@pytest.fixture
def clinic(settings):
    settings.AS_OF = "2026-10-14"
    clinic = make.open_clinic()
    for person, code in ((clinic.nurse, "7305"), (clinic.vet, "2846"), (clinic.manager, "9174")):
        tablets.set_code(person=person, code=code, at=AT)
    return clinic


@pytest.fixture
def tablet(clinic) -> Client:
    """A browser that the manager has enrolled, and from which the manager has signed out."""
    device = Client()
    device.force_login(clinic.manager, "django.contrib.auth.backends.ModelBackend")
    assert device.post("/tablets/", {"words": "kennels"}).status_code == 303
    assert device.post("/sign-out/")["Location"] == "/tablet/"
    return device


def stand_before(device: Client, initials: str, code: str):
    return device.post("/tablet/", {"initials": initials, "code": code})


def test_each_tap_is_kept_under_who_stands_before_the_tablet(clinic, tablet):
    order = clinic.order(clinic.admit().animal, clinic.tablets, ["midday", "evening"])
    for initials, code, name in (("pq", "7305", "midday"), ("NH", "2846", "evening")):
        assert stand_before(tablet, initials, code)["Location"] == "/ward/"
        key = f"00000000-0000-4000-8000-00000000{code}"
        answer = tablet.post(f"{SHEET}tick/", {"key": key, "order": order.pk, "round": name})
        assert answer.status_code == 303

    by = CareItem.objects.order_by("pk").values_list("recorded_by__name", flat=True)
    assert list(by) == ["Pilar Quist", "Noor Halvorsen"]


def test_a_tablet_opens_the_ward_sheet_and_no_other_page_whoever_stands_before_it(clinic, tablet):
    """The manager too is the ward here: of all addresses those of the sheet alone answer, and none with an amount."""
    stand_before(tablet, "AY", "9174")
    sheet = tablet.get(SHEET).content.decode()
    animal = clinic.admit().animal

    opened = {name for name, pattern in addresses().items() if (gate := gate_of(pattern)) and gate.on_tablet}
    assert opened == {f"clinic:{name}" for name in OF_THE_SHEET}
    for closed in ("/", "/animals/", f"/animals/{animal.pk}/", "/sign-off/", "/ledger/", "/people/", "/tablets/code/"):
        assert tablet.get(closed).status_code in {403, 404}, closed
    assert tablet.get("/find/?q=bracken").status_code == 403
    assert "Change person" in sheet
    assert 'href="/sign-off/"' not in sheet and 'href="/animals/"' not in sheet


def test_a_device_that_is_not_enrolled_has_no_such_page(clinic, client):
    assert client.get("/tablet/").status_code == 404
    client.cookies["tablet"] = "made-up:signature"
    assert client.get("/tablet/").status_code == 404
    assert stand_before(client, "PQ", "7305").status_code == 404


def test_a_closed_tablet_opens_to_nobody_and_signs_out_who_stands_before_it(clinic, tablet):
    stand_before(tablet, "PQ", "7305")
    assert tablet.get(SHEET).status_code == 200

    tablets.revoke(tablet=Tablet.objects.get(), by=clinic.manager, at=AT)

    assert tablet.get(SHEET)["Location"].startswith("/sign-in/")
    assert tablet.get("/tablet/").status_code == 404
    assert tablet.post(f"{SHEET}all-seen/", headers={"HX-Request": "true"}).status_code == 401


def test_the_secret_and_the_code_are_kept_hashed_alone(clinic, tablet):
    secret = tablet.cookies["tablet"].value

    assert tablet.cookies["tablet"]["httponly"] and tablet.cookies["tablet"]["samesite"] == "Strict"
    assert Tablet.objects.get().secret_sha256 not in secret
    assert all(code not in kept for kept in ShortCode.objects.values_list("code_hash", flat=True) for code in ("7305",))


def test_after_five_wrong_codes_the_right_one_rests_for_a_quarter_of_an_hour(clinic, tablet, monkeypatch):
    for _ in range(5):
        answer = stand_before(tablet, "PQ", "1111")
        assert (answer.status_code, "Initials and code do not fit together." in answer.content.decode()) == (422, True)

    rests = stand_before(tablet, "PQ", "7305")
    assert (rests.status_code, "rests here for a quarter of an hour" in rests.content.decode()) == (422, True)
    assert stand_before(tablet, "NH", "2846").status_code == 303  # another person is not kept waiting

    later = clock.now() + timedelta(minutes=16)
    monkeypatch.setattr(clock, "now", lambda: later)
    assert stand_before(tablet, "PQ", "7305").status_code == 303
    assert WrongCode.objects.count() == 0


def test_a_tablet_that_guesses_through_everybodys_initials_rests_as_well(clinic, tablet):
    for number in range(20):
        stand_before(tablet, f"X{number}", "1111")

    assert "rests here" in stand_before(tablet, "NH", "2846").content.decode()


@pytest.mark.parametrize("code", ["1111", "1234", "87654", "0000"])
def test_a_code_that_is_easy_to_guess_is_refused(clinic, code):
    with pytest.raises(tablets.CodeTooEasy, match="This code is easy to guess"):
        tablets.set_code(person=clinic.nurse, code=code, at=AT)


def test_initials_and_code_name_one_person(clinic):
    other = make.person("Petra Quill", Role.WARD)
    with pytest.raises(tablets.CodeTaken, match="Choose another code: this one does not tell you apart."):
        tablets.set_code(person=other, code="7305", at=AT)
    tablets.set_code(person=other, code="7306", at=AT)


@pytest.mark.parametrize("who", ["bookkeeper", "reader", "contact"])
def test_who_does_not_write_on_the_sheet_needs_no_code(clinic, who):
    with pytest.raises(tablets.NotOfTheWard, match="you need no code"):
        tablets.set_code(person=getattr(clinic, who), code="7391", at=AT)


def test_who_has_left_stands_before_no_tablet(clinic, tablet):
    stand_before(tablet, "PQ", "7305")
    people.leave(person=clinic.nurse, by=clinic.manager, today=TODAY, at=AT)

    assert tablet.get(SHEET)["Location"].startswith("/sign-in/")
    assert stand_before(tablet, "PQ", "7305").status_code == 422


def test_a_name_is_given_once_while_its_tablet_stands(clinic):
    tablets.enroll(words="kennels", by=clinic.manager, at=AT)
    with pytest.raises(tablets.TabletNamedAlready, match="A tablet is called kennels already"):
        tablets.enroll(words="kennels", by=clinic.manager, at=AT)
    tablets.revoke(tablet=Tablet.objects.get(), by=clinic.manager, at=AT)
    tablets.enroll(words="kennels", by=clinic.manager, at=AT)


def test_signing_out_leads_back_to_the_question_who_it_is(clinic, tablet):
    stand_before(tablet, "PQ", "7305")
    assert tablet.post(reverse("clinic:sign_out"))["Location"] == "/tablet/"
    assert "By initials and code, on this tablet" in tablet.get("/sign-in/").content.decode()
    assert "Who is it now?" in tablet.get("/tablet/").content.decode()


def test_the_code_at_a_cage_opens_its_row_on_a_tablet_too(clinic, tablet):
    animal = clinic.admit().animal
    stand_before(tablet, "PQ", "7305")

    answer = tablet.get(f"/animals/{animal.pk}/row/")

    assert answer["Location"] == f"/ward/2026-10-14/?open={animal.pk}#animal-{animal.pk}"
    assert tablet.get(answer["Location"].partition("#")[0]).status_code == 200
