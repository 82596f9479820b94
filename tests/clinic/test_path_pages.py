"""The pages of a treatment path, read as a person reads them."""

import re
import uuid
from html import unescape

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from clinic.models import House, PathDecision, TreatmentPath
from clinic.queries import paths as query
from tests.clinic import make
from tests.clinic.make import TODAY
from tests.clinic.test_paths import decide, grafts, operation, operations_of, plan  # noqa: F401

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic(settings):
    settings.AS_OF = TODAY.isoformat()
    return make.open_clinic(percent=None)


@pytest.fixture
def path(clinic, grafts):  # noqa: F811
    return plan(clinic, grafts, clinic.admit().animal)


def words(response):
    """The page's words as they are read, without its drawings."""
    text = re.sub(r"<(svg|head)\b.*?</\1>", " ", response.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", text)))


@pytest.fixture
def vet(client, clinic):
    client.force_login(clinic.vet)
    return client


def test_the_page_tells_each_rule_as_its_outcomes(vet, path):
    read = words(vet.get(reverse("clinic:path", args=[path.pk])))

    assert "One more, then convert : on average 360.00 less than converting now; 60 of 100 keep the leg" in read
    assert "40 need the amputation of a hind limb 3,800.00" in read
    assert "Both : on average 228.00 less than converting now; 78 of 100 keep the leg" in read
    assert "Cheaper on average: try the skin graft; after a skin graft that did not heal: convert." in read
    assert "The figures assume that the animal survives each anesthetic." in read
    assert "End treatment (comfort care, or leaving it as it is) stands beside these and has no price." in read


def test_the_words_that_a_person_never_reads_are_not_there(vet, clinic, path):
    decide(clinic, path, "staged")

    read = words(vet.get(reverse("clinic:path", args=[path.pk]))).lower()

    for word in ("percentile", "attempt", "advice", "failed", "digest", " key ", "euthan"):
        assert word not in read


def test_the_vet_decides_and_the_figures_are_kept(vet, clinic, path):
    answer = vet.post(
        reverse("clinic:path_decide", args=[path.pk]),
        {
            "key": uuid.uuid4(),
            "choice": "staged",
            "why": "Good circulation.",
            "on": TODAY.isoformat(),
            "vet": clinic.vet.pk,
            "manager": clinic.manager.pk,
        },
    )

    assert (answer.status_code, PathDecision.objects.get().figures["go_on"]["expected_minor"]) == (303, 224_000)
    read = words(vet.get(answer["Location"]))
    assert "Noor Halvorsen and Amos Yelland: the staged path “Good circulation.”" in read
    assert "0.00 asked of the funds in 1 day" not in read  # tonight's boarding is on its way
    assert "24.00 asked of the funds in 1 day, the last one counted in, 24.00 of it not yet signed off." in read


def test_a_decision_without_a_reason_is_sent_back_with_what_was_typed(vet, clinic, path):
    answer = vet.post(
        reverse("clinic:path_decide", args=[path.pk]),
        {"key": uuid.uuid4(), "choice": "staged", "why": "", "on": TODAY.isoformat(), "vet": clinic.vet.pk},
    )

    assert answer.status_code == 422
    assert "nothing you typed is lost, nothing was written" in words(answer)
    assert not PathDecision.objects.exists()


def test_a_result_is_recorded_from_its_form(vet, clinic, path):
    decide(clinic, path, "staged")
    step = operations_of(path)[0]
    address = reverse("clinic:path_result", args=[path.pk, step.pk])

    assert "Skin graft: what did it come to?" in words(vet.get(address))
    answer = vet.post(address, {"result": "not_healed", "on": TODAY.isoformat(), "complication": "bandage injury"})

    assert answer.status_code == 303
    assert "did not heal, October 14 complication: bandage injury" in words(vet.get(answer["Location"]))


def test_a_path_is_planned_from_its_form(vet, clinic, grafts):  # noqa: F811
    animal = clinic.admit("Minnow", species="cat").animal
    address = reverse("clinic:path_plan", args=[animal.pk])
    typed = {
        "key": uuid.uuid4(),
        "name": "the left hock, in stages",
        "keeps": "the leg",
        "single": clinic.surgery.pk,
        "single_days": "4",
        "single_level": clinic.standard.pk,
        "complication_chance": "8",
        "complication_cost": "400",
        "operation-TOTAL_FORMS": "6",
        "operation-INITIAL_FORMS": "0",
        "operation-0-service": grafts["skin-graft"].pk,
        "operation-0-chance": "60",
        "operation-0-chance_source": "vet",
        "operation-0-days": "21",
        "operation-0-level": clinic.standard.pk,
        "operation-0-daily_service": clinic.dressing.pk,
    }

    assert vet.get(address).status_code == 200
    refused = vet.post(address, {**typed, "operation-0-chance": "160"})
    answer = vet.post(address, typed)

    assert refused.status_code == 422
    assert "Operation 1, Chance to heal, in 100: A chance lies between 0 and 100 in 100." in words(refused)
    path = TreatmentPath.objects.get()
    assert answer["Location"] == reverse("clinic:path", args=[path.pk])
    # 1,200 and 21 days of 24 and 12; the single procedure 1,200 and 4 days of 24, and 8 in 100 of 400
    read = words(vet.get(answer["Location"]))
    assert "1,956.00" in read
    assert "Convert now 8 of 100 complicated 1,328.00" in read


def test_changing_a_plan_begins_with_what_it_says(vet, clinic, path):
    decide(clinic, path, "staged")
    address = reverse("clinic:path_plan", args=[path.animal_id])

    form = vet.get(address).context["form"]
    rows = vet.get(address).context["rows"]
    typed = {f"{name}": "" if value is None else value for name, value in form.initial.items()}
    typed |= {"key": uuid.uuid4(), "name": "another way", "operation-TOTAL_FORMS": "6", "operation-INITIAL_FORMS": "2"}
    for number, row in enumerate(rows.initial):
        typed |= {f"operation-{number}-{name}": "" if value is None else value for name, value in row.items()}
    answer = vet.post(address, typed)

    assert form.initial["name"] == "the left hock, in stages"
    assert [row["chance"] for row in rows.initial] == ["60", "45"]
    changed = TreatmentPath.objects.get(name="another way")
    assert answer["Location"] == reverse("clinic:path", args=[changed.pk])
    assert changed.replaces == path
    assert [step.chance for step in operations_of(changed)] == [step.chance for step in operations_of(path)]


def test_on_the_animals_page_the_ward_sees_no_amount(clinic, path):
    decide(clinic, path, "staged")
    found = query.path_of(animal=path.animal)
    house = House.objects.get()

    with_money, without = (
        render_to_string(
            "clinic/path/_on_animal.html",
            {"path": query.path_page(path=found, on=TODAY, sees_money=sees, house=house)},
        )
        for sees in (True, False)
    )

    assert "2,240.00" in with_money
    assert "2,600.00" in with_money
    assert "1. Skin graft" in without
    assert not re.search(r"\d\.\d\d", without)


def test_a_path_ends_from_its_form(vet, clinic, path):
    answer = vet.post(reverse("clinic:path_end", args=[path.pk]), {"ending": "withdrawn", "on": TODAY.isoformat()})

    assert answer.status_code == 303
    path.refresh_from_db()
    assert path.ending == "withdrawn"


def test_the_list_leads_to_the_path(vet, path):
    read = vet.get(reverse("clinic:paths"))

    assert reverse("clinic:path", args=[path.pk]) in read.content.decode()
    assert "planned, not chosen yet" in words(read)


@pytest.mark.parametrize("who", ["nurse", "contact"])
def test_no_amount_for_the_ward_and_no_page_for_a_partner(client, clinic, path, who):
    client.force_login(getattr(clinic, who))

    assert client.get(reverse("clinic:path", args=[path.pk])).status_code in (403, 404)


@pytest.mark.parametrize("who", ["bookkeeper", "reader"])
def test_bookkeeper_and_reader_read_and_never_write(client, clinic, path, who):
    client.force_login(getattr(clinic, who))

    assert client.get(reverse("clinic:path", args=[path.pk])).status_code == 200
    assert "Decide as" not in words(client.get(reverse("clinic:path", args=[path.pk])))
    assert client.post(reverse("clinic:path_decide", args=[path.pk])).status_code == 403


def test_the_page_asks_the_same_questions_of_the_database_however_long_the_stay(
    vet, clinic, path, django_assert_max_num_queries
):
    decide(clinic, path, "staged")

    with django_assert_max_num_queries(64):
        vet.get(reverse("clinic:path", args=[path.pk]))
