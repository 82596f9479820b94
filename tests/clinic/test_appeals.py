"""Asking for gifts for one animal: what is needed, there and missing; the sheet closes itself at need and reserve."""

import io
import re
import uuid
from datetime import date, timedelta

import pytest
from django.db import transaction
from django.urls import reverse
from pypdf import PdfReader

from clinic.actions import appeals as actions
from clinic.models import Appeal, AppealEnd, House
from clinic.queries import appeals as queries
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.ledger import make as money

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
NEED, RESERVE = 1_000_00, 100_00


@pytest.fixture
def clinic(settings):
    settings.AS_OF = f"{TODAY}"
    return make.open_clinic(percent=None)


@pytest.fixture
def bracken(clinic):
    return clinic.admit("Bracken", on=DAY).animal


@pytest.fixture
def leg(clinic, bracken):
    """A fund that names Bracken, with 200.00 from before anybody asked."""
    fund = make.fund(clinic, "animal", "Bracken's leg", subject_key=bracken.key)
    money.gift(fund, 200_00, DAY - timedelta(days=2), "before")
    return fund


def ask(clinic, animal, fund_id, **said):
    facts = {"key": uuid.uuid4(), "words": "Two grafts.", "need_minor": NEED, "reserve_minor": RESERVE}
    return actions.ask(animal=animal, fund_id=fund_id, by=clinic.manager, on=DAY, at=AT, **{**facts, **said})


def sheet(appeal, on: date = TODAY):
    return queries.appeal_sheet(appeal=appeal, on=on, house=House.objects.get())


def test_what_was_there_what_came_and_what_is_missing(clinic, bracken, leg):
    """200.00 were there, 300.00 came on the day of the appeal, of which a giving site kept 9.00."""
    appeal = ask(clinic, bracken, leg.id)
    money.gift(leg, 300_00, DAY, "since", fee_minor=9_00, way="giving_site")

    found = sheet(appeal)

    assert (found.money.there_minor, found.came_minor, found.missing_minor) == (200_00, 291_00, 509_00)
    assert (found.state, found.filled) == ("open", 9)  # 491 of 1,000 is nine twentieths and a part
    assert found.money.clause == leg.leftover


def test_spending_does_not_reopen_what_is_met(clinic, bracken, leg):
    """The need counts what came, so that care paid from the fund never asks for the same money twice."""
    appeal = ask(clinic, bracken, leg.id, need_minor=180_00, reserve_minor=20_00)
    before = sheet(appeal)
    clinic.see_all()
    clinic.sign()

    after = sheet(appeal)

    assert (before.state, before.met_on) == (after.state, after.met_on) == ("met", DAY)
    assert after.missing_minor == 0


def test_it_closes_itself_at_need_and_reserve_and_opens_again_when_a_gift_goes_back(clinic, bracken, leg):
    appeal = ask(clinic, bracken, leg.id)
    money.gift(leg, 800_00, DAY, "need")
    at_need = sheet(appeal)
    money.gift(leg, 100_00, TODAY, "reserve")
    at_reserve = sheet(appeal)
    yesterday = sheet(appeal, on=DAY)

    assert (at_need.state, at_need.missing_minor) == ("open", 0)
    assert (at_reserve.state, at_reserve.met_on) == ("met", TODAY)
    assert yesterday.state == "open"


@pytest.mark.parametrize("minor", [0, -1])
def test_nothing_is_no_need(clinic, bracken, leg, minor):
    with pytest.raises(actions.NeedImpossible, match="above zero"), transaction.atomic():
        ask(clinic, bracken, leg.id, need_minor=minor)
    assert not Appeal.objects.exists()


def test_nobody_is_asked_without_a_fund_that_names_the_animal(clinic, bracken, leg):
    other = clinic.admit("Hazel", on=DAY).animal
    for fund_id in (leg.id, money.general().id, 999):
        with pytest.raises(actions.NoFundForIt, match="left over"), transaction.atomic():
            ask(clinic, other, fund_id)
    assert not Appeal.objects.exists()


def test_one_at_a_time_and_the_same_form_twice_is_one(clinic, bracken, leg):
    key = uuid.uuid4()
    first = ask(clinic, bracken, leg.id, key=key)

    assert ask(clinic, bracken, leg.id, key=key) == first
    with pytest.raises(actions.AppealStands, match="End it first"), transaction.atomic():
        ask(clinic, bracken, leg.id)
    actions.end(appeal=first, why="The plan was changed.", by=clinic.manager, on=DAY, at=AT)
    assert ask(clinic, bracken, leg.id).pk != first.pk


def test_an_end_is_written_once_and_the_sheet_asks_no_more(clinic, bracken, leg):
    appeal = ask(clinic, bracken, leg.id)
    end = {"appeal": appeal, "by": clinic.manager, "on": DAY, "at": AT}
    actions.end(**end, why="Bracken has healed.")
    money.gift(leg, 5_00, TODAY, "late")

    assert actions.end(**end, why="Bracken has healed.").appeal_id == appeal.pk
    with pytest.raises(actions.AppealEnded, match="Bracken has healed"), transaction.atomic():
        actions.end(**end, why="Something else.")
    found = sheet(appeal)
    assert (found.state, found.came_minor, AppealEnd.objects.count()) == ("ended", 0, 1)


def test_from_the_animal_to_the_paper(client, clinic, bracken, leg):
    client.force_login(clinic.bookkeeper, BACKEND)
    said = {"key": uuid.uuid4().hex, "words": "Two skin grafts.", "need_minor": "1,000.00", "reserve_minor": "100"}
    wrong = client.post(reverse("clinic:appeal_open", args=[bracken.pk]), {**said, "fund_id": leg.id, "words": ""})
    made = client.post(reverse("clinic:appeal_open", args=[bracken.pk]), {**said, "fund_id": leg.id})
    appeal = Appeal.objects.get()
    pdf = client.get(reverse("clinic:appeal_pdf", args=[appeal.pk])).content
    read = " ".join(re.sub(r"\s+", " ", leaf.extract_text()) for leaf in PdfReader(io.BytesIO(pdf)).pages)

    assert wrong.status_code == 422 and "1,000.00" in wrong.content.decode()
    assert made["Location"] == reverse("clinic:appeal", args=[appeal.pk])
    for words in (
        "Bracken needs you",
        "1,000.00",
        "200.00",
        "800.00",
        "Two skin grafts.",
        leg.leftover,
        "not tax advice",
    ):
        assert words in read, words
    assert "The appeal" in client.get(reverse("clinic:animal", args=[bracken.pk])).content.decode()
    assert len(PdfReader(io.BytesIO(pdf)).pages) == 1


def test_an_animal_that_no_fund_names_is_told_what_is_missing(client, clinic, bracken):
    client.force_login(clinic.manager, BACKEND)

    shown = client.get(reverse("clinic:appeal_open", args=[bracken.pk])).content.decode()

    assert "No fund names this animal yet." in shown and "Open such a fund" in shown
