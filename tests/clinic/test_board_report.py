"""The report to the board: its figures are those of the single reports, on screen and on paper."""

import io
import re

import pytest
from django.urls import reverse
from pypdf import PdfReader

from clinic.models import House
from clinic.queries import board_report
from clinic.queries.cost_report import cost_report
from ledger.queries import activity, reports, running_money
from ledger.queries.balances import balances
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
    clinic = make.open_clinic(percent=None)
    clinic.gift(money.general(), 500_00)
    animal = clinic.admit("Bracken", on=DAY).animal
    clinic.give(animal, clinic.dressing, on=DAY)
    clinic.see_all()
    clinic.sign()
    return clinic


def report(clinic):
    return board_report.board_report(**OCTOBER, today=TODAY, house=House.objects.get())


def test_its_figures_are_those_of_the_single_reports(clinic):
    found = report(clinic)
    costs, scope = cost_report(**OCTOBER), reports.scope(**OCTOBER)

    assert found.costs == costs
    assert found.expenses.table.together.together_minor == activity.activity(scope=scope).went_out.together_minor
    assert found.roll.together.closing_minor == sum(balances().values())
    assert found.ward.together.start + found.ward.together.came == found.ward.together.left + found.ward.together.end
    assert found.unpaid_minor == 0


def test_money_runs_without_donated_services(clinic):
    """A gift of 500.00, a night asked at 24.00 and a dressing at 12.00; what was discounted is no money."""
    found = running_money.running_money(scope=reports.scope(**OCTOBER))

    assert (found.came_minor, found.went_minor) == (500_00, 36_00)
    assert found.came[0][0] == oct(1) and found.came[-1][0] == oct(31)


def test_care_without_a_payer_is_named_by_partner(settings):
    settings.AS_OF = f"{TODAY}"
    clinic = make.open_clinic(percent=None)
    clinic.admit("Bracken", on=DAY)
    clinic.see_all()
    clinic.sign()

    (line,) = report(clinic).unpaid

    assert (line.words, line.animals, line.amount_minor) == ("Brindle Yard Rescue", 1, 24_00)


def test_the_paper_says_what_the_screen_says(client, clinic):
    client.force_login(clinic.reader, BACKEND)
    paper = PdfReader(io.BytesIO(client.get(reverse("clinic:board_report_pdf"), ASKED).content))
    read = " ".join(re.sub(r"\s+", " ", leaf.extract_text()) for leaf in paper.pages)
    shown = client.get(reverse("clinic:board_report"), ASKED).content.decode()

    told = "500.00 came in and 36.00 was spent", "Expenses by function", "Animals in and out", "Paid to the practice"
    for words in told:
        assert words in read and words in shown
    assert paper.pages[0].extract_text().count("What the clinic gave") == 1


def test_an_empty_period_and_one_that_ends_before_it_begins(client, clinic):
    client.force_login(clinic.reader, BACKEND)

    empty = client.get(reverse("clinic:board_report"), {"from_on": "2026-08-01", "to_on": "2026-08-31"})
    wrong = client.get(reverse("clinic:board_report"), {"from_on": "2026-10-31", "to_on": "2026-10-01"})

    assert empty.status_code == 200 and "No care was signed off." in empty.content.decode()
    assert wrong.status_code == 422 and "ends before it begins" in wrong.content.decode()
