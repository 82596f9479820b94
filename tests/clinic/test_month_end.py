"""Month's end through the pages: what is open, carried by name, closed, reported, reopened (H3, D5)."""

import io
import re
import uuid
from datetime import date

import pytest
from django.urls import reverse
from pypdf import PdfReader

from clinic.queries.closing_report import closing_report
from ledger.audit import audit
from ledger.models import Carried, Closing, Fund
from ledger.queries.periods import closed_through
from tests.clinic import make
from tests.ledger import bank

pytestmark = pytest.mark.django_db
OCT_31 = date(2026, 10, 31)


@pytest.fixture
def clinic(settings):
    """Bracken's dressing of October 13 is signed off and nobody can pay the partner's rest of it."""
    settings.AS_OF = "2026-11-03"
    clinic = make.open_clinic()
    stay = clinic.admit()
    clinic.give(stay.animal, clinic.dressing)
    clinic.gift(Fund.objects.get(kind="general"), 5_00)
    clinic.sign()
    return clinic


@pytest.fixture
def bookkeeper(client, clinic):
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    return client


def text(response) -> str:
    main = response.content.decode().partition("<main")[2].partition("</main>")[0]
    return " ".join(re.sub(r"<[^>]+>", " ", main).split())


def send(client, name, *args, **said):
    return client.post(reverse(f"clinic:{name}", args=args), {"key": uuid.uuid4().hex, **said})


def carry_all(client):
    page = client.get(reverse("clinic:month_end"), {"through_on": OCT_31})
    things = [thing for thing, _ in page.context["month"].choices]
    return send(client, "month_carry", OCT_31, things=things, why="The partner decides in November.")


def close(client):
    return send(client, "month_close", through_on=OCT_31)


def test_an_empty_house_says_what_will_stand_here(client):
    clinic = make.open_clinic()
    client.force_login(clinic.reader, "django.contrib.auth.backends.ModelBackend")

    assert "The books are empty" in text(client.get(reverse("clinic:month_end")))


def test_the_list_names_what_is_open_each_one_step_from_its_mend(bookkeeper):
    """H3: days not signed off, unpaid care, money at sites, gifts without a fund, returned, receipts, goods."""
    response = bookkeeper.get(reverse("clinic:month_end"), {"through_on": OCT_31})

    page = text(response)
    assert "28 days not signed off" in page
    assert "1 animal with care nobody has paid" in page.replace("Bracken", "Bracken")
    assert "Every gift names its fund" in page
    for item in response.context["month"].items:
        assert item.is_done or bookkeeper.get(item.address).status_code == 200


def test_care_that_nobody_looked_at_keeps_the_month_open(bookkeeper):
    response = close(bookkeeper)

    assert response.status_code == 422
    assert "Care nobody has paid is open for Bracken." in text(response)
    assert closed_through() is None


def test_carried_by_name_the_month_closes_and_its_report_says_so(bookkeeper, clinic):
    assert carry_all(bookkeeper).status_code == 303
    assert Carried.objects.get(what="care").by == clinic.bookkeeper.pk

    response = close(bookkeeper)

    number = Closing.objects.get().entry_id
    assert response["Location"] == reverse("clinic:closing", args=[number])
    page = text(bookkeeper.get(response["Location"]))
    assert "October 2026, closed" in page or "to October 31, 2026, closed" in page
    assert "Bracken: care nobody has paid Greta Lindqvist" in page
    assert "The partner decides in November." in page
    assert "28 days not signed off" in page
    assert "A ceiling for general money" in page
    assert audit().findings == ()


def test_lines_of_the_bank_are_carried_by_name_and_told_in_the_report(bookkeeper, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    bank.taken(bank.camt([(date(2026, 10, 30), -12_40, "Hearth Insurance", "fees")], opening=5_00), today=OCT_31)
    page = text(bookkeeper.get(reverse("clinic:month_end"), {"through_on": OCT_31}))
    assert "1 line of the bank with nothing in the books" in page

    carry_all(bookkeeper)
    told = text(bookkeeper.get(reverse("clinic:month_end"), {"through_on": OCT_31}))
    report = text(bookkeeper.get(close(bookkeeper)["Location"]))

    assert "Hearth Insurance −12.40. Carried November 3 by Greta Lindqvist: The partner decides in November." in told
    assert "lines of the bank with nothing in the books: 1 Greta Lindqvist" in report and "−12.40" in report


def test_the_report_as_a_paper_has_the_check_number_and_a_line_for_a_second_person(bookkeeper):
    carry_all(bookkeeper)
    close(bookkeeper)
    entry = Closing.objects.get().entry

    response = bookkeeper.get(reverse("clinic:closing_pdf", args=[entry.id]))

    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(response.content)).pages)
    check = " ".join(entry.digest[at : at + 4] for at in range(0, 16, 4))
    assert check in words
    assert "A second person: name, day and signature" in words


def test_the_report_does_not_change_when_the_period_is_reopened(bookkeeper, clinic):
    from clinic.models import House

    carry_all(bookkeeper)
    close(bookkeeper)
    number, house = Closing.objects.get().entry_id, House.objects.get()
    before = closing_report(number=number, house=house)

    assert send(bookkeeper, "month_reopen", why="A bill came late.").status_code == 303
    clinic.gift(Fund.objects.get(kind="general"), 9_00)

    after = closing_report(number=number, house=house)
    assert (after.roll, after.balance, after.activity) == (before.roll, before.balance, before.activity)
    assert after.closing.reopened_why == "A bill came late."
    assert "A bill came late." in text(bookkeeper.get(reverse("clinic:month_end")))


def test_reopening_without_a_reason_is_told_at_its_field(bookkeeper):
    response = send(bookkeeper, "month_reopen", why="")

    assert response.status_code == 422
    assert "Write why the period is reopened." in text(response)


def test_a_gift_dated_into_the_closed_month_is_refused_at_its_date(bookkeeper):
    carry_all(bookkeeper)
    close(bookkeeper)

    response = bookkeeper.post(
        reverse("ledger:gift_record"),
        {
            "key": uuid.uuid4().hex,
            "fund_id": Fund.objects.get(kind="general").pk,
            "amount_minor": "5.00",
            "received_on": "2026-10-30",
            "way": "bank",
        },
    )

    assert response.status_code == 422
    assert "October 2026 is closed, through October 31" in text(response)


def test_what_one_hand_recorded_signed_and_paid_stands_in_the_report(bookkeeper, clinic):
    """H3: the entries where one hand recorded, signed and paid."""
    from clinic.queries import closing_report as query

    clinic.nurse = clinic.manager
    stay = clinic.admit("Ballast")
    clinic.give(stay.animal, clinic.dressing)
    clinic.sign()

    found = list(query._recorded_and_signed(date(2026, 10, 1), OCT_31))

    assert [person for person, _ in found] == [clinic.manager.pk]
