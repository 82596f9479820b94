"""What became of a fund's money: its figures are the fund's own, animal by animal, and no cost is on it."""

import io
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from pypdf import PdfReader

from clinic.models import House
from clinic.queries import grant_report
from ledger.actions import budgets
from ledger.models import Fund
from ledger.queries.balances import closing_balance
from tests.clinic import make
from tests.clinic.make import DAY, TODAY
from tests.ledger import make as money
from tests.ledger.make import oct

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
OCTOBER = {"from_on": oct(1), "to_on": oct(31)}
ASKED = {"from_on": "2026-10-01", "to_on": "2026-10-31"}


@pytest.fixture
def clinic(settings):
    settings.AS_OF = f"{TODAY}"
    return make.open_clinic(percent=None)


@pytest.fixture
def wound_fund(clinic):
    """50.00 for dressings, of which two dressings at 12.00 took 24.00; boarding found no payer in it."""
    fund = money.fund("Wound fund", "purpose", purpose={"dressing"})
    money.gift(fund, 50_00, DAY - timedelta(days=3), "wounds")
    budgets.add(
        key=money.key("line"), fund_id=fund.id, words="Dressings", amount_minor=40_00, from_on=oct(1), until_on=oct(31),
        matches={"dressing"}, on=oct(1), by=money.BOOKKEEPER,
    )  # fmt: skip
    for name in ("Bracken", "Hazel"):
        clinic.give(clinic.admit(name, on=DAY).animal, clinic.dressing, on=DAY)
    clinic.see_all()
    clinic.sign()
    return fund


def report(fund, **days):
    return grant_report.grant_report(fund_id=fund.id, **{**OCTOBER, **days}, on=TODAY, house=House.objects.get())


def test_its_animals_sum_to_what_left_the_fund(clinic, wound_fund):
    found = report(wound_fund)

    assert [(one.helped.name, one.helped.paid_minor) for one in found.animals] == [("Bracken", 12_00), ("Hazel", 12_00)]
    assert found.care_minor == found.went_minor == 24_00
    assert found.closing_minor == closing_balance(fund_id=wound_fund.id, until=oct(31)) == 26_00
    assert (found.budget.spent_minor, found.budget.left_minor) == (24_00, 16_00)


def test_another_period_has_its_own_figures(clinic, wound_fund):
    found = report(wound_fund, from_on=oct(1), to_on=oct(12))

    assert (found.animals, found.care_minor, found.came_minor) == ((), 0, 50_00)


def test_funds_through_which_entries_only_pass_have_none(clinic):
    for kind in ("given", "goods"):
        fund = Fund.objects.get(kind=kind)
        assert report(fund) is None


def test_the_paper_has_asked_and_never_cost(client, clinic, wound_fund):
    client.force_login(clinic.bookkeeper, BACKEND)
    pdf = client.get(reverse("clinic:grant_report_pdf", args=[wound_fund.id]), ASKED).content
    read = " ".join(re.sub(r"\s+", " ", leaf.extract_text()) for leaf in PdfReader(io.BytesIO(pdf)).pages)
    shown = client.get(reverse("clinic:grant_report", args=[wound_fund.id]), ASKED).content.decode()

    for words in ("Wound fund", "24.00", "26.00", "Bracken", "Budget and what was spent", wound_fund.leftover):
        assert words in read and words in shown, words
    assert client.get(reverse("clinic:grant_report", args=[999])).status_code == 404
    wrong = client.get(reverse("clinic:grant_report", args=[wound_fund.id]), {**ASKED, "to_on": "2026-09-01"})
    assert wrong.status_code == 422 and "ends before it begins" in wrong.content.decode()
