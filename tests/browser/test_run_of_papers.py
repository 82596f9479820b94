"""A run of papers goes on by itself while its page is open, also when the page is opened anew in its middle."""

import uuid
from datetime import timedelta

import pytest

from clinic.actions import paper_runs, run_papers
from clinic.models import RunItem
from ledger.actions import donors
from ledger.models import Fund
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db(transaction=True)

DONORS = ("Ann", "Ben", "Cleo")
YESTERDAY = TODAY - timedelta(days=1)


@pytest.fixture
def clinic(settings, tmp_path):
    settings.AS_OF, settings.MEDIA_ROOT = TODAY.isoformat(), tmp_path
    clinic = make.open_clinic()
    for name in DONORS:
        donor = donors.add(key=uuid.uuid4(), name=name, on=TODAY, by=clinic.bookkeeper.pk)
        clinic.gift(Fund.objects.get(kind="general"), 1000, donor_id=donor.pk, on=TODAY)
    return clinic


def test_a_run_goes_on_by_itself_from_its_start_and_when_it_is_opened_anew_in_its_middle(open_page, clinic):
    page = open_page(clinic.bookkeeper)
    page.goto("/papers/runs/")
    page.get_by_label("From").fill(TODAY.isoformat())
    page.get_by_label("To", exact=True).fill(TODAY.isoformat())
    page.get_by_role("button", name="Start the run").click()
    page.get_by_text("3 of 3 made.").wait_for()

    page.goto(f"/papers/runs/{half_way(clinic).pk}/")
    page.get_by_text("3 of 3 made.").wait_for()

    assert list(RunItem.objects.values_list("state", flat=True)) == ["made"] * 6
    assert page.complaints == []


def half_way(clinic):
    """A run whose page was closed after its first paper."""
    days = {"from_on": YESTERDAY, "to_on": TODAY}
    run = paper_runs.start(key=uuid.uuid4(), kind="donor", **days, form="", by=clinic.manager, today=TODAY, at=AT)
    run_papers.work(run=run, worker="a page that was closed", now=lambda: AT, most=1)
    return run
