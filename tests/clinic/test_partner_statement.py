"""A partner's statement: the care of its days, who paid in groups, what is asked; nothing that is not theirs (F4)."""

import html
import io
import re
import uuid
from datetime import date

import pytest
from django.urls import reverse
from pypdf import PdfReader

from clinic.actions import issued_papers, partners, services
from clinic.actions.issue_partner_statement import issue_partner_statement
from clinic.models import House, IssuedPaper, TreatmentPath
from clinic.queries.partner_statement import partner_statement
from clinic.queries.stationery import stationery_of
from config import uploads
from config.roles import Role
from ledger.actions import donors, returns
from ledger.models import BilledMonth, Entry
from ledger.queries import charges
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db

OCTOBER = {"from_on": date(2026, 10, 1), "to_on": date(2026, 10, 31)}


@pytest.fixture(autouse=True)
def media_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def clinic():
    """One day of Bracken: boarding 24.00, dressing 12.00; 30.00 of a named donor for the leg, 40 % of the rest agreed.

    The leg pays 24.00 and 6.00; of the 6.00 left the agreement pays 2.40; 3.60 has no payer.
    """
    clinic = make.open_clinic()
    animal = clinic.admit(on=DAY, partner_number="BY-17").animal
    donor = donors.add(key=uuid.uuid4(), name="Imke Sandoval", on=date(2026, 10, 1), by=clinic.bookkeeper.pk)
    clinic.animal_id = animal.pk
    clinic.leg = make.fund(clinic, "animal", "Bracken's leg", subject_key=animal.key)
    clinic.given = clinic.gift(clinic.leg, 3000, donor_id=donor.pk)
    clinic.give(animal, clinic.dressing)
    clinic.sign()
    return clinic


def read(clinic, **days):
    said = {"issued_on": TODAY, "stationery": stationery_of(House.objects.get()), "signer": "Greta Lindqvist"}
    return partner_statement(partner=clinic.partner, **(OCTOBER | days), **said)


def issued(clinic, **more) -> IssuedPaper:
    said = {"key": uuid.uuid4(), "partner": clinic.partner, **OCTOBER} | more
    said["stationery"] = stationery_of(House.objects.get())
    return issue_partner_statement(**said, by=clinic.bookkeeper, today=TODAY, at=AT)


def text_of(paper: IssuedPaper) -> str:
    content = uploads.read(sha256=paper.sha256, content_type=uploads.PDF)
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages)


def test_its_sums_are_those_worked_by_hand(clinic):
    one = read(clinic)

    assert one.sums() == {
        "usual fee": 6800, "asked": 3600, "your agreement": 240, "gifts for this animal": 3000, "nobody yet": 360,
        "disputed": 0, "asked of you": 240,
    }  # fmt: skip
    assert [(animal.name, animal.partner_number, animal.days) for animal in one.animals] == [("Bracken", "BY-17", 1)]
    assert (sum(one.paid), one.given_minor) == (one.asked_minor, 3200)
    assert one.asked_minor == charges.of_party(party_key=clinic.partner.key).together.asked_minor


def test_the_paper_says_the_same_and_neither_donor_nor_cost(clinic):
    """F4, I6: never donors, never cost. Boarding cost 21.40 and the dressing 9.85, 31.25 together."""
    text = text_of(issued(clinic))

    assert all(amount in text for amount in ("68.00", "36.00", "2.40", "30.00", "3.60"))
    assert not any(word in text for word in ("Sandoval", "31.25", "21.40", "9.85"))
    assert "BY-17" in text
    assert "No tax invoice" in text


def test_care_of_another_month_is_not_in_it(clinic):
    assert read(clinic, from_on=date(2026, 11, 1), to_on=date(2026, 11, 30)).asked_minor == 0


def test_an_empty_month_is_said_and_printed(clinic):
    paper = issued(clinic, from_on=date(2026, 9, 1), to_on=date(2026, 9, 30))

    assert "None of your animals was in our care" in text_of(paper)


def test_what_is_disputed_is_not_asked_for(clinic):
    """F4: "disputed" pauses the asking, not the books."""
    dressing = charges.of_party(party_key=clinic.partner.key).lines[-1]
    partners.dispute(
        key=uuid.uuid4(), partner=clinic.partner, number=dressing.entry_number, words="No.", by=clinic.contact, at=AT
    )

    one = read(clinic)

    assert (one.disputed_minor, one.of_you_minor, one.by_column["Your agreement"]) == (240, 0, 240)


def test_once_issued_a_month_is_billed_and_a_returned_gift_bills_the_partner_no_more(clinic):
    """E3: re-sharing never bills a partner for a month whose statement is issued; the paper stays as it was."""
    paper = issued(clinic)
    before = text_of(paper)

    returns.give_back(
        key=uuid.uuid4(), gift_id=clinic.given.pk, how="refund", by=clinic.bookkeeper.pk, today=TODAY, at=AT, why="-"
    )

    assert BilledMonth.objects.get().month == date(2026, 10, 1)
    assert read(clinic).by_column["Your agreement"] == 240
    assert read(clinic).by_column["Nobody yet"] == 3360
    assert text_of(paper) == before


def test_without_a_statement_the_agreement_takes_its_share_of_what_the_gift_had_paid(clinic):
    returns.give_back(
        key=uuid.uuid4(), gift_id=clinic.given.pk, how="refund", by=clinic.bookkeeper.pk, today=TODAY, at=AT, why="-"
    )

    assert read(clinic).by_column["Your agreement"] == 1440


def test_half_a_month_bills_no_month(clinic):
    issued(clinic, to_on=date(2026, 10, 20))

    assert not BilledMonth.objects.exists()


def test_the_same_days_are_told_once_and_a_corrected_one_names_the_first(clinic):
    first = issued(clinic)

    with pytest.raises(issued_papers.IssuedBefore):
        issued(clinic)
    second = issued(clinic, replaces=first, why="A line came late.")

    assert "It takes the place of No. 2026-0001" in text_of(second)
    assert not Entry.objects.filter(on=date(2026, 10, 31)).exists()


def test_a_contact_opens_their_own_statement_and_no_other(clinic, client):
    paper = issued(clinic)
    other = services.add_partner(name="Nine Lantern Cats", short_name="Nine Lantern", since_on=date(2026, 1, 1))
    make.person("Wim Other", Role.PARTNER, partner=other)
    stranger = make.person("Uma Nobody", Role.PARTNER, partner=other)
    address = reverse("clinic:your_paper", args=[paper.number])
    statuses = []
    for person in (clinic.contact, stranger, clinic.bookkeeper):
        client.force_login(person, "django.contrib.auth.backends.ModelBackend")
        statuses.append(client.get(address).status_code)
    client.force_login(clinic.contact, "django.contrib.auth.backends.ModelBackend")

    assert statuses == [200, 404, 403]
    assert address in client.get(reverse("clinic:your_animals")).content.decode()


def test_it_is_issued_and_corrected_on_its_pages(clinic, client):
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    days = {"from_on": "2026-10-01", "to_on": "2026-10-31"}

    sent = client.post(reverse("clinic:partner_statement", args=[clinic.partner.pk]), {"key": uuid.uuid4(), **days})
    again = client.post(reverse("clinic:partner_statement", args=[clinic.partner.pk]), {"key": uuid.uuid4(), **days})
    corrected = client.post(sent["Location"], {"key": uuid.uuid4(), "why": "A line came late."})

    assert sent["Location"] == reverse("clinic:issued_paper", args=["2026-0001"])
    assert (again.status_code, "tells of these days already" in again.content.decode()) == (422, True)
    assert corrected["Location"] == reverse("clinic:issued_paper", args=["2026-0002"])


def main_of(answer) -> str:
    main = re.search(r"<main.*?</main>", answer.content.decode(), re.DOTALL).group()
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", main)).split())


def month(client, person, on=DAY):
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    return client.get(reverse("clinic:your_month", args=[on]))


def test_f4_the_contact_reads_on_screen_what_the_issued_paper_says(clinic, client, settings):
    """Every word and figure of the paper, and its number; neither donor nor cost."""
    settings.AS_OF = "2026-10-31"
    draft = main_of(month(client, clinic.contact))
    paper = issued(clinic)
    screen, printed = main_of(month(client, clinic.contact)), text_of(paper)

    assert "No statement has been issued for this month yet" in draft and "Draft, not issued" in draft
    assert f"No. {paper.number}" in screen and "not issued" not in screen
    said = re.findall(r"\d[\d,]*\.\d\d|[A-Za-z]+|\d+", printed.rpartition("Page")[0])
    assert len(said) > 150
    assert [word for word in said if word not in "".join(screen.split())] == []  # some words of a paper touch
    assert not any(word in screen for word in ("Sandoval", "31.25", "21.40", "9.85"))
    assert reverse("clinic:your_animal", args=[clinic.animal_id]) in month(client, clinic.contact).content.decode()


def test_f4_after_a_correction_the_screen_says_that_the_books_have_changed(clinic, client, settings):
    settings.AS_OF = "2026-10-31"
    paper = issued(clinic)
    dressing = charges.of_party(party_key=clinic.partner.key).lines[-1]
    said = {"number": dressing.entry_number, "words": "No.", "by": clinic.contact, "at": AT}
    partners.dispute(key=uuid.uuid4(), partner=clinic.partner, **said)

    screen = main_of(month(client, clinic.contact))

    assert f"The books have changed since No. {paper.number} was issued" in screen
    assert "2.40 that you dispute is not asked for until it is settled" in screen


def test_f4_another_partners_contact_reads_nothing_of_it(clinic, client, settings):
    """Their own month is empty, and a month to come, or from before their first animal, is not there."""
    settings.AS_OF = "2026-10-31"
    other = make.person("wim", Role.PARTNER, partner=services.add_partner(name="Nine Lantern Cats", since_on=DAY))

    screen = main_of(month(client, other))

    assert "None of your animals was in our care in these days" in screen
    assert not any(word in screen for word in ("Bracken", "BY-17", "Brindle", "36.00"))
    assert month(client, other, date(2026, 11, 1)).status_code == 404
    assert month(client, other, date(2026, 9, 1)).status_code == 404
    assert month(client, clinic.bookkeeper).status_code == 403


def test_f4_a_plan_without_a_yes_is_told_where_it_can_be_said(clinic, client, settings):
    settings.AS_OF = "2026-10-31"
    path = TreatmentPath.objects.create(
        animal_id=clinic.animal_id, name="the left hock, in stages", keeps="the leg", planned_by=clinic.vet,
        planned_on=DAY, planned_at=AT,
    )  # fmt: skip
    told = "Nobody has said yes to Bracken’s plan."

    assert told in main_of(month(client, clinic.contact))
    client.post(
        reverse("clinic:your_animal", args=[clinic.animal_id]),
        {"key": uuid.uuid4(), "path": path.pk, "amount_minor": "1200"},
    )
    screen = main_of(month(client, clinic.contact))
    assert told not in screen
    assert "1,200.00" in screen
