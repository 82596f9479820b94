"""Letter texts: the manager writes them, an unknown field is refused by its name, and nothing in them runs."""

import uuid

import pytest
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.urls import reverse

from clinic.formulas import letter_texts as formulas
from clinic.models import House, LetterText
from clinic.queries import letter_texts
from clinic.queries.impact_statement import impact_statement
from clinic.queries.partner_statement import partner_statement
from clinic.queries.stationery import stationery_of
from ledger.actions import donors
from tests.clinic import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic():
    return make.open_clinic()


def sent(client, person, text: str, **more):
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    said = {"key": uuid.uuid4(), "text": text} | more
    return client.post(reverse("clinic:letter_text", args=["gift"]), said)


def test_what_the_manager_writes_stands_in_the_next_letter(clinic, client):
    answer = sent(client, clinic.manager, "Dear {donor},\n\nthank you for {amount}.")

    assert answer.status_code == 303
    assert stationery_of(House.objects.get()).letter("gift", donor="Ann", amount="5.00 USD") == (
        "Dear Ann,",
        "thank you for 5.00 USD.",
    )


def test_what_the_manager_writes_ends_the_statements_of_donors_and_partners(clinic, client):
    donor = donors.add(key=uuid.uuid4(), name="Ann", on=make.DAY, by=clinic.bookkeeper.pk)
    days = {"from_on": make.DAY, "to_on": make.TODAY, "issued_on": make.TODAY}
    for code, person in (("statement", "donor"), ("partner", "partner")):
        text = f"Our thanks, {{{person}}}."
        client.force_login(clinic.manager, "django.contrib.auth.backends.ModelBackend")
        client.post(reverse("clinic:letter_text", args=[code]), {"key": uuid.uuid4(), "text": text})

    days["stationery"] = stationery_of(House.objects.get())
    to_donor = impact_statement(donor_id=donor.pk, donor="Ann", address="", signer="Amos", **days)
    to_partner = partner_statement(partner=clinic.partner, signer="Amos", **days)

    assert (to_donor.letter, to_partner.letter) == (("Our thanks, Ann.",), ("Our thanks, Brindle Yard Rescue.",))
    for facts, template in ((to_donor, "impact_statement"), (to_partner, "partner_statement")):
        assert facts.letter[0] in render_to_string(f"clinic/{template}/_leaves.html", {"statement": facts})


@pytest.mark.parametrize(
    ("text", "named"),
    [("Dear {doner},", "{doner} is no field"), ("A { alone", "A single { is no field"), ("{{ 7 }}", "is no field")],
)
def test_an_unknown_field_is_refused_by_its_name(clinic, client, text, named):
    answer = sent(client, clinic.manager, text)

    assert (answer.status_code, named in answer.content.decode()) == (422, True)
    assert not LetterText.objects.exists()


def test_a_preview_shows_and_keeps_nothing(clinic, client):
    answer = sent(client, clinic.manager, "For {donor} <script>alert(1)</script>", show="1").content.decode()

    assert "For Imke and Tobias Sandoval &lt;script&gt;" in answer
    assert not LetterText.objects.exists()


def test_what_is_filled_in_is_never_read_as_a_field(clinic):
    assert formulas.filled(code="gift", text="{donor}", values={"donor": "{amount}"}) == ("{amount}",)


def test_a_text_is_written_once_and_the_last_one_holds(clinic, client):
    sent(client, clinic.manager, "First.")
    sent(client, clinic.manager, "Second.")

    with pytest.raises(IntegrityError), transaction.atomic():
        LetterText.objects.update(text="other")

    assert list(LetterText.objects.order_by("pk").values_list("text", flat=True)) == ["First.", "Second."]
    assert letter_texts.wordings()["gift"] == "Second."


def test_nobody_but_the_manager_writes(clinic, client):
    assert sent(client, clinic.bookkeeper, "Mine.").status_code == 403
    assert client.get(reverse("clinic:letter_text", args=["gift"])).status_code == 200
    assert client.get(reverse("clinic:letter_text", args=["other"])).status_code == 404
