"""Paths from before the opening: written down from paper, learned from, and neither forecast nor money."""

import uuid
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import earlier_paths
from clinic.forms.path_steps import EarlierOperation
from clinic.models import Animal, PathStep, TreatmentPath
from clinic.queries import finished_paths
from ledger import models as books
from tests.clinic import make
from tests.clinic.make import AT, TODAY
from tests.clinic.test_path_pages import words
from tests.clinic.test_paths import grafts, page, plan  # noqa: F401

pytestmark = pytest.mark.django_db

CHOSEN = date(2025, 3, 1)


@pytest.fixture
def clinic(settings):
    settings.AS_OF = TODAY.isoformat()
    return make.open_clinic(percent=None)


def remember(clinic, grafts, *, results=("healed",), ending="healed", **more):  # noqa: F811
    facts = {
        "key": uuid.uuid4(),
        "animal": "Sorrel",
        "species": "dog",
        "name": "the right hock",
        "parted_on": CHOSEN,
        "ended_on": CHOSEN + timedelta(days=60),
        "operations": [
            EarlierOperation(service=grafts["skin-graft"], done_on=CHOSEN + timedelta(days=20 * n), result=result)
            for n, result in enumerate(results, start=1)
        ],
    }
    return earlier_paths.remember(**{**facts, **more}, ending=ending, by=clinic.vet, at=AT)


def test_they_are_our_own_cases_from_the_first_day(clinic, grafts):  # noqa: F811
    for results in (("healed",), ("healed",), ("not_healed", "healed"), ("not_healed",)):
        remember(clinic, grafts, results=results, ending="healed" if "healed" in results else "converted")
    path = plan(clinic, grafts, clinic.admit().animal)

    facts = page(path)

    assert (facts.learned[0].healed, facts.learned[0].of) == (3, 5)
    assert (facts.healing.cases, facts.healing.open, facts.healing.median) == (4, 1, 60)
    assert facts.healing.endings == (("healed", 3), ("converted to the single procedure", 1))


def test_they_have_no_forecast_to_judge_and_no_money(clinic, grafts):  # noqa: F811
    made = remember(clinic, grafts)

    found = finished_paths.finished_paths()

    assert found.forecasts.operations == 0
    assert (found.lines[0].expected_minor, found.lines[0].is_earlier) == (None, True)
    assert (books.Charge.objects.count(), books.Commitment.objects.count()) == (0, 0)
    assert made.animal.number == "25-0001"


def test_dying_before_a_result_leaves_no_operation(clinic, grafts):  # noqa: F811
    remember(clinic, grafts, results=(), ending="died")

    assert PathStep.objects.filter(part="operation").count() == 0
    assert finished_paths.finished_paths().lines[0].ending == "died"


def test_sent_twice_is_once(clinic, grafts):  # noqa: F811
    key = uuid.uuid4()
    one, other = (remember(clinic, grafts, key=key) for _ in range(2))

    assert one == other
    with pytest.raises(earlier_paths.KeyUsedAgain):
        remember(clinic, grafts, key=key, animal="Thimble")


@pytest.mark.parametrize(
    ("said", "refusal"),
    [
        ({"ended_on": date(2026, 10, 1)}, earlier_paths.SinceTheOpening),
        ({"ended_on": CHOSEN + timedelta(days=10)}, earlier_paths.OutOfOrder),
        ({"parted_on": CHOSEN + timedelta(days=30)}, earlier_paths.OutOfOrder),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(clinic, grafts, said, refusal):  # noqa: F811
    with pytest.raises(refusal), transaction.atomic():
        remember(clinic, grafts, **said)

    assert (Animal.objects.count(), TreatmentPath.objects.count()) == (0, 0)


def test_an_operation_without_a_chance_has_its_result(clinic, grafts):  # noqa: F811
    remember(clinic, grafts)

    with pytest.raises(IntegrityError), transaction.atomic():
        PathStep.objects.filter(part="operation").update(result="")


class TestThePages:
    def sent(self, grafts, **more):  # noqa: F811
        rows = {"operation-TOTAL_FORMS": "4", "operation-INITIAL_FORMS": "0"}
        said = {
            "key": str(uuid.uuid4()),
            "animal": "Sorrel",
            "species": "Dog",
            "name": "the right hock",
            "parted_on": "2025-03-01",
            "ended_on": "2025-05-01",
            "ending": "healed",
            "operation-0-service": grafts["skin-graft"].pk,
            "operation-0-done_on": "2025-05-01",
            "operation-0-result": "healed",
        }
        return {**rows, **said, **more}

    def test_the_vet_writes_one_down(self, client, clinic, grafts):  # noqa: F811
        client.force_login(clinic.vet)

        answer = client.post(reverse("clinic:earlier_path"), self.sent(grafts), follow=True)

        assert "Sorrel : the right hock" in words(answer)
        assert "before the books" in words(answer)
        own = words(client.get(reverse("clinic:path", args=[TreatmentPath.objects.get().pk])))
        assert "From before the books: nothing of it was counted here." in own

    @pytest.mark.parametrize(
        ("said", "sentence"),
        [
            ({"operation-0-result": ""}, "An operation has its day and what it came to."),
            ({"ended_on": "2026-10-13"}, "The house opened on 2026-10-01."),
            ({"animal": ""}, "Write it in a few words."),
        ],
    )
    def test_a_wrong_form_says_so(self, client, clinic, grafts, said, sentence):  # noqa: F811
        client.force_login(clinic.vet)

        answer = client.post(reverse("clinic:earlier_path"), self.sent(grafts, **said))

        assert answer.status_code == 422
        assert sentence in words(answer)
        assert TreatmentPath.objects.count() == 0
