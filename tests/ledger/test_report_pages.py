"""The reports as pages and files: they foot on the page, and a file says the same with amounts that stay numbers."""

import csv
import io
import uuid
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse
from pypdf import PdfReader

from config.roles import Role
from ledger.actions import price_approvals
from ledger.formulas.fiscal_years import year_of
from ledger.models import Account, Entry, Posting, PriceApproval
from ledger.posting import KeyUsedBefore
from ledger.queries import reports
from ledger.queries.journal import journal, whole
from ledger.queries.related_party import related_party
from tests.ledger import make
from tests.ledger.make import oct
from tests.ledger.test_pages import person, text

OCTOBER = {"from_on": "2026-10-01", "to_on": "2026-10-31"}
PAGES = ("roll_forward", "trial_balance", "activity", "functional_expenses", "journal", "related_party")
PRINTED = tuple(name.replace("_", "-") for name in PAGES if name != "journal")


@pytest.fixture(autouse=True)
def as_of(settings):
    settings.AS_OF = "2026-10-31"


@pytest.fixture
def bookkeeper(client, posted):
    client.force_login(person(Role.BOOKKEEPER), "django.contrib.auth.backends.ModelBackend")
    return client


def file(client, report: str, **query) -> list[dict[str, str]]:
    response = client.get(reverse("ledger:report_file", args=[report, "csv"]), {**OCTOBER, **query})
    assert response["Content-Disposition"].startswith("attachment")
    return list(csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"))))


def scope(**facts):
    return reports.scope(from_on=oct(1), to_on=oct(31), **facts)


@pytest.mark.parametrize("name", PAGES)
def test_every_report_is_read_in_a_fixed_number_of_queries(bookkeeper, django_assert_max_num_queries, name):
    for number in range(60):
        make.gift(make.general(), 1_00, oct(2 + number % 20), f"many {number}")

    with django_assert_max_num_queries(20):
        page = text(bookkeeper.get(reverse(f"ledger:{name}"), OCTOBER))

    assert f"As of entry {Entry.objects.count()}" in page


def test_an_index_leads_to_every_report(bookkeeper):
    page = bookkeeper.get(reverse("ledger:reports")).content.decode()

    for name in PAGES:
        assert reverse(f"ledger:{name}") in page


@pytest.mark.parametrize(
    "report", ["roll-forward", "trial-balance", "activity", "functional-expenses", "journal", "related-party"]
)
def test_every_report_is_a_file_too(bookkeeper, report):
    assert file(bookkeeper, report)


@pytest.mark.parametrize(
    "report", ["roll-forward", "trial-balance", "activity", "functional-expenses", "related-party"]
)
def test_a_report_is_printed_with_the_figures_of_its_file(bookkeeper, report):
    response = bookkeeper.get(reverse("ledger:report_paper", args=[report]), OCTOBER)

    assert response["Content-Type"] == "application/pdf"
    printed = printed_words(response.content)
    assert f"As of entry {Entry.objects.count()}" in printed
    for row in file(bookkeeper, report):
        *words, _ = row.values()
        amounts = [
            f"{Decimal(cell):,.2f}"
            for cell in words
            if "." in cell and cell.strip("0.") and cell.replace(".", "").isdigit()
        ]
        assert all(amount in printed for amount in amounts)


def printed_words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_a_trial_balance_in_a_file_foots(bookkeeper):
    *lines, together = file(bookkeeper, "trial-balance")

    assert together["Account"] == "Together"
    for column in ("Debits", "Credits", "Debit balance", "Credit balance"):
        assert sum(Decimal(line[column]) for line in lines) == Decimal(together[column])
    assert (together["Debits"], together["Debit balance"]) == (together["Credits"], together["Credit balance"])


@pytest.mark.parametrize("way", [("report_file", "csv"), ("report_file", "xlsx"), ("report_paper",)])
def test_a_report_that_does_not_exist_is_not_found(bookkeeper, way):
    name, *kind = way
    assert bookkeeper.get(reverse(f"ledger:{name}", args=["nothing", *kind])).status_code == 404


def test_a_period_that_ends_before_it_begins_is_told(bookkeeper):
    response = bookkeeper.get(reverse("ledger:activity"), {"from_on": "2026-10-05", "to_on": "2026-10-01"})

    assert response.status_code == 422
    assert "The period ends before it begins" in text(response)


def test_a_trial_balance_as_a_file_foots(bookkeeper):
    rows = file(bookkeeper, "trial-balance")

    for debit, credit in (("Debits", "Credits"), ("Debit balance", "Credit balance")):
        assert sum(Decimal(row[debit]) for row in rows) == sum(Decimal(row[credit]) for row in rows)


def test_no_words_of_a_file_become_a_formula(bookkeeper):
    make.gift(make.general(), 5_00, oct(21), "formula", words="=HYPERLINK(1)")

    words = [row["Words"] for row in file(bookkeeper, "journal")]

    assert "'=HYPERLINK(1)" in words
    assert not any(word.startswith(("=", "+", "-", "@")) for word in words)


def test_a_file_as_of_an_entry_leaves_out_what_came_later(bookkeeper):
    rows = file(bookkeeper, "journal", as_of=3)

    assert {int(row["Entry"]) for row in rows} <= {1, 2, 3}


class TestJournal:
    def test_goes_on_page_by_page_and_leaves_nothing_out(self, bookkeeper):
        for number in range(120):
            make.gift(make.general(), 1_00, oct(2 + number % 20), f"many {number}")
        after, seen = "", []
        while True:
            found = journal(scope=scope(), after=after)
            seen += [(entry.on, entry.number) for entry in found.entries]
            after = found.later
            if not after:
                break

        assert seen == sorted(Entry.objects.values_list("on", "id"))
        assert sum(len(entry.postings) for entry in whole(scope=scope())) == Posting.objects.count()

    def test_carries_the_accountants_codes(self, bookkeeper):
        response = bookkeeper.post(reverse("ledger:accounts"), {"bank": "1000", "gifts": "4010 "})

        assert response.status_code == 303
        assert Account.objects.get(code="gifts").accountants_code == "4010"
        gift = next(row for row in file(bookkeeper, "journal") if row["Kind"] == "gift" and row["Debit"] == "Bank")
        assert (gift["Debit code"], gift["Credit code"]) == ("1000", "4010")


class TestPaidToThePractice:
    """A4: what the practice was paid, yearly: asked, beside cost and usual fee, and who outside approved the prices."""

    def test_what_became_due_is_what_is_due(self, posted):
        found = related_party(scope=scope())

        assert found.due_minor == -make.account("due_to_practice")
        assert found.together.usual_minor - found.together.asked_minor == found.together.given_minor

    def test_the_year_before_stands_as_due_at_the_beginning(self, posted):
        found = related_party(scope=reports.scope(from_on=oct(21), to_on=oct(31)))

        assert (found.lines, found.due_before_minor) == ((), -make.account("due_to_practice"))

    def test_a_fiscal_year_may_differ_from_the_calendar_year(self):
        assert year_of(oct(14), starts=7) == (date(2026, 7, 1), date(2027, 6, 30))

    def approve(self, **facts):
        defaults = {
            "key": make.key("approval"),
            "approved_on": oct(5),
            "from_on": oct(1),
            "name": "Odile Brandt",
            "office": "treasurer",
            "by": make.BOOKKEEPER,
            "today": oct(20),
            "at": make.at(oct(20)),
        }
        return price_approvals.approve(**{**defaults, **facts})

    def test_names_who_approved_the_prices(self, posted):
        self.approve()
        self.approve()
        self.approve(key=make.key("later"), from_on=oct(25), name="Ruth Amsel")

        found = related_party(scope=scope()).approvals
        assert [(row.name, row.office) for row in found] == [("Odile Brandt", "treasurer"), ("Ruth Amsel", "treasurer")]

    def test_refuses_nobody_a_day_ahead_and_a_key_used_before(self, posted):
        with pytest.raises(price_approvals.ApproverMissing, match="Write who approved the prices"):
            self.approve(name=" ")
        with pytest.raises(price_approvals.ApprovalAhead, match="has not come yet"):
            self.approve(approved_on=oct(21))
        self.approve()
        with pytest.raises(KeyUsedBefore):
            self.approve(office="chair")
        assert PriceApproval.objects.count() == 1

    def test_is_recorded_on_the_page(self, bookkeeper):
        assert "Nobody outside the practice has approved these prices." in text(
            bookkeeper.get(reverse("ledger:related_party"))
        )
        said = {
            "key": uuid.uuid4().hex,
            "name": "Odile Brandt",
            "office": "treasurer",
            "approved_on": "2026-10-05",
            "from_on": "2026-10-01",
        }

        assert bookkeeper.post(reverse("ledger:related_party"), said).status_code == 303
        assert "Odile Brandt treasurer" in text(bookkeeper.get(reverse("ledger:related_party")))
