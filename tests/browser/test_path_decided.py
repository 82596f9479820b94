"""A path in a real browser: a review point is reached and the team converts; and an animal dies in the middle.

The first is lived on the demo's dog. What the page says on October 14, 2026 follows from her diary: 3,898.00 asked of
the funds, 2,267.20 for the amputation with its 12 days at 24.00 and 8 in 100 of 240.00 (1,960.00 + 288.00 + 19.20).
"""

import io
import re
from datetime import timedelta

import pypdf
import pytest
from django.core.management import call_command

from clinic.models import Animal, Order, PathDecision, TreatmentPath, User
from clinic.queries import finished_paths
from ledger.audit import audit
from ledger.models import Commitment
from tests.clinic import make
from tests.clinic.make import TODAY
from tests.clinic.test_paths import decide, grafts, plan  # noqa: F401

pytestmark = pytest.mark.django_db(transaction=True)


def words(page):
    return re.sub(r"\s+", " ", page.inner_text("main"))


def test_a_review_point_is_reached_and_the_team_converts(open_page, settings):
    settings.AS_OF = "2026-10-14"
    call_command("build_demo", as_of="2026-10-14", verbosity=0)
    page = open_page(User.objects.get(sign_in="noor"), width=1280, height=800)

    page.goto("/")
    page.get_by_text("Read and decide").click()
    read = words(page)
    assert "Decision due for 2 days." in read
    strip = page.locator(".answers")
    assert strip.bounding_box()["y"] + strip.bounding_box()["height"] <= 800
    answers = re.sub(r"\s+", " ", strip.inner_text())
    for answer in ("comfortable, sleeps through", "3,898.00", "2,267.20", "2,797.20", "55 in 100", "Not all"):
        assert answer in answers
    assert page.locator("#so-far figure svg").first.inner_html().count(">decision<") == 2

    page.get_by_role("link", name="Case summary").click()
    summary = words(page)
    for figure in ("3,898.00", "2,267.20", "2,797.20", "2,896.20", "1,630.80", "55 of 100"):
        assert figure in read
        assert figure in summary
    printed = page.request.get(page.get_by_role("link", name="Print, PDF").get_attribute("href"))
    leaves = pypdf.PdfReader(io.BytesIO(printed.body())).pages
    assert len(leaves) == 1
    assert "2,797.20" in leaves[0].extract_text()

    page.go_back()
    page.get_by_label("Convert to the single procedure").check()
    page.get_by_label("Why").fill("The wound closes too slowly for her; she wants to run.")
    page.get_by_label("For the money, the manager").select_option(label="Amos Yelland")
    page.get_by_role("button", name="Decide as Noor Halvorsen").click()
    page.wait_for_url("**/paths/*/")

    read = words(page)
    kept = PathDecision.objects.latest("pk")
    assert (kept.choice, kept.vet.sign_in, kept.manager.sign_in) == ("convert", "noor", "amos")
    assert kept.figures["convert"]["expected_minor"] == 226_720
    assert "October 14, 2026, Noor Halvorsen and Amos Yelland: convert to the single procedure" in read
    assert "2,797.20 2,267.20 55" in read  # what going on and converting came to, kept as they stood
    assert "Decision due" not in read
    assert page.locator("#so-far figure svg").first.inner_html().count(">decision<") == 3
    set_aside = Commitment.objects.filter(ended_on=None, plan_key=TreatmentPath.objects.get(ended_on=None).key)
    assert sum(one.amount_minor for one in set_aside) > 0
    page.goto("/")
    assert "path to decide" not in words(page)
    assert list(audit().findings) == []


def test_the_animal_dies_in_the_middle(open_page, settings, clinic, grafts):  # noqa: F811
    settings.AS_OF = str(TODAY)
    bracken = clinic.admit("Bracken", on=TODAY - timedelta(days=5)).animal
    leg = make.fund(clinic, "animal", "Bracken's leg", subject_key=bracken.key)
    clinic.gift(leg, 5_000_00)
    path = plan(clinic, grafts, bracken)
    decide(clinic, path, "staged")
    clinic.order(bracken, clinic.dressing, ["morning"])
    assert Commitment.objects.filter(ended_on=None).exists()
    browser = open_page(clinic.vet)

    browser.goto(f"/animals/{bracken.pk}/discharge/")
    browser.get_by_label("Where to").select_option("died")
    browser.get_by_label("Why").fill("a clot, two days after the graft")
    browser.get_by_role("button", name="Discharge").click()
    browser.wait_for_url(f"**/animals/{bracken.pk}/")
    browser.goto(f"/paths/{path.pk}/")

    read = words(browser)
    path.refresh_from_db()
    assert (path.ending, path.ended_on) == ("died", TODAY)
    assert "Ended on October 14, 2026: died." in read
    assert "Photograph the last bill" in read
    assert "5,000.00 is left in Bracken's leg: What is not needed goes to general money." in read
    assert not Commitment.objects.filter(ended_on=None).exists()
    assert not Order.objects.filter(stopped_on=None).exists()
    assert "did not heal" not in read
    (line,) = finished_paths.finished_paths().lines
    assert (line.ending, finished_paths.finished_paths().forecasts.operations) == ("died", 0)
    browser.get_by_role("link", name="What is left in Bracken's leg").click()
    browser.wait_for_url("**/leftovers/**")
    assert Animal.objects.get(pk=bracken.pk).name in words(browser)


@pytest.fixture
def clinic():
    return make.open_clinic(percent=None)
