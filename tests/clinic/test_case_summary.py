"""The page that an owner is sent: the figures of the path's page, the animal first, no cost, no donor, one leaf."""

import io
import re

import pypdf
import pytest
from django.urls import reverse

from clinic.actions import path_results
from clinic.models import Order
from ledger import models as books
from tests.clinic import make
from tests.clinic.make import AT, TODAY
from tests.clinic.test_observations import round_wounds
from tests.clinic.test_path_pages import words
from tests.clinic.test_paths import decide, grafts, operation, page, plan  # noqa: F401

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic(settings):
    settings.AS_OF = TODAY.isoformat()
    return make.open_clinic(percent=None)


@pytest.fixture
def path(clinic, grafts):  # noqa: F811
    made = plan(clinic, grafts, clinic.admit().animal)
    decide(clinic, made, "staged")
    return made


@pytest.fixture
def reader(client, clinic):
    client.force_login(clinic.reader)
    return client


def paper(client, path, query=""):
    answer = client.get(reverse("clinic:case_summary_pdf", args=[path.pk]) + query)
    return pypdf.PdfReader(io.BytesIO(answer.content))


def text(pdf):
    return re.sub(r"\s+", " ", " ".join(leaf.extract_text() for leaf in pdf.pages))


def test_it_is_one_leaf_with_the_figures_of_the_page(reader, clinic, path):
    facts = page(path)

    found = paper(reader, path)
    read = text(found)

    assert len(found.pages) == 1
    assert "2,240.00" in read  # one more, then convert
    assert "2,372.00" in read  # both
    assert "2,600.00" in read  # convert now
    assert "60 of 100 heal after the skin graft (1,200.00)" in read
    assert f"{facts.so_far.asked_minor / 100:,.2f}" in read
    assert "Going on costs 360.00 less on average than converting now" in read
    assert "14 % of the single procedure with its days, at today’s prices" in read  # 360 / 2,600


def test_welfare_comes_before_any_amount_and_the_cautions_are_there(reader, clinic, path):
    read = text(paper(reader, path))

    assert read.index("nobody has noted comfort") < read.index("Asked so far")
    for caution in (
        "Cost is one input: welfare, pain and prognosis come first.",
        "under local law",
        "survives each anesthetic",
        "Human limb-salvage figures do not carry over to animals.",
        "comfort care",
    ):
        assert caution in read
    assert "uthan" not in read


def test_an_owner_reads_no_cost_no_fund_and_no_donor(reader, clinic, path):
    make.fund(clinic, "animal", "Bracken's leg", subject_key=path.animal.key)

    read = text(paper(reader, path))

    assert "usual fee" not in read.lower()
    assert "General" not in read
    assert "Bracken's leg" not in read


def test_the_days_until_the_wound_closes_may_stand_for_the_plans(reader, clinic, grafts):  # noqa: F811
    skin = operation(grafts["skin-graft"], "0.60", days=10, level=clinic.standard)
    from clinic.models import House

    House.objects.update(opening_on="2026-08-01")
    animal = clinic.admit("Wren", on=TODAY.replace(month=9, day=1)).animal
    path = plan(clinic, grafts, animal, operations=[skin])
    round_wounds(clinic, animal, 40, 36, 32, 28, 24)  # closes 42 days after October 13: in 41 days

    planned = words(reader.get(reverse("clinic:path", args=[path.pk])))
    by_wound = words(reader.get(reverse("clinic:path", args=[path.pk]) + "?days=wound"))

    assert "The last one: on average 2,480.00 to finish" in planned  # 1,200 + 10 x 24 + .4 x 2,600
    assert "The last one: on average 3,224.00 to finish" in by_wound  # 1,200 + 41 x 24 + .4 x 2,600
    assert "3,224.00" in text(paper(reader, path, "?days=wound"))


def test_a_path_that_ended_says_so_on_one_leaf(reader, clinic, path):
    path_results.end(path=path, ending="withdrawn", on=TODAY, by=clinic.vet, today=TODAY, at=AT)

    found = paper(reader, path)

    assert len(found.pages) == 1
    assert "withdrawn by the owner" in text(found)


def test_every_end_ends_the_orders_and_asks_for_the_last_bill(client, clinic, path):
    leg = make.fund(clinic, "animal", "Bracken's leg", subject_key=path.animal.key)
    clinic.gift(leg, 5_000)
    clinic.order(path.animal, clinic.dressing, ["morning"])

    path_results.end(path=path, ending="lost", on=TODAY, by=clinic.vet, today=TODAY, at=AT)

    client.force_login(clinic.vet)
    read = words(client.get(reverse("clinic:path", args=[path.pk])))
    assert Order.objects.get().stopped_on == TODAY
    assert not books.Commitment.objects.filter(ended_on=None).exists()
    assert "Ended on October 14, 2026: lost to follow-up." in read
    assert "Photograph the last bill" in read
    assert "50.00 is left in Bracken's leg: What is not needed goes to general money." in read
