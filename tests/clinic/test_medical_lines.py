"""I3, last words: the vet approves the medical line that donors read of an animal on a staged path."""

import uuid
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.urls import reverse

from clinic.actions import medical_lines, path_results
from clinic.actions.medical_lines import KeyUsedAgain, MovedOn, NotAVet, WordsRefused
from clinic.formulas import medical_lines as formulas
from clinic.models import House, MedicalLine
from clinic.queries import path_course
from clinic.queries.home import home
from clinic.queries.impact_statement import impact_statement
from clinic.queries.stationery import stationery_of
from config.roles import Role
from ledger.actions import donors
from ledger.models import Fund
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.clinic.test_paths import decide, grafts, operations_of, plan, result  # noqa: F401

pytestmark = pytest.mark.django_db

NOT_YET = "What was done and whether it held is told here once a vet has approved the words."
WORDS = "One operation has been done, and it did not heal."
WAITS = "line for donors to approve"


@pytest.fixture
def clinic():
    return make.open_clinic(percent=None)


@pytest.fixture
def planned(clinic, grafts):  # noqa: F811
    return plan(clinic, grafts, clinic.admit().animal)


@pytest.fixture
def chosen(clinic, planned):
    """A path that somebody chose, whose animal was boarded for a day out of a donor's 100.00."""
    donor = donors.add(key=uuid.uuid4(), name="Imke Sandoval", on=date(2026, 10, 1), by=clinic.bookkeeper.pk)
    clinic.gift(Fund.objects.get(kind="general"), 10_000, donor_id=donor.pk)
    clinic.sign()
    decide(clinic, planned, "staged")
    return planned, donor


def approve(clinic, path, **more):
    state = path_course.course(path=path).states[-1].code
    facts = {"key": uuid.uuid4(), "state": state, "words": WORDS, "by": clinic.vet, "at": AT}
    return medical_lines.approve(path=path, **facts | more)


def statement(donor, to_on=TODAY):
    return impact_statement(
        donor_id=donor.pk, donor=donor.name, address="", from_on=date(2026, 1, 1), to_on=to_on, issued_on=TODAY,
        stationery=stationery_of(House.objects.get()), signer="Greta",
    )  # fmt: skip


def told(donor, to_on=TODAY) -> str:
    one = statement(donor, to_on)
    return " ".join(render_to_string("clinic/impact_statement/_leaves.html", {"statement": one}).split())


def asked_of(clinic, *roles) -> list[str]:
    facts = home(on=TODAY, moment=AT, house=House.objects.get(), roles=frozenset(roles))
    return [need.words for need in facts.needs if need.words == WAITS]


def test_i3_without_the_vets_yes_the_paragraph_stands_and_the_medical_line_does_not(clinic, chosen):
    path, donor = chosen
    result(clinic, operations_of(path)[0], "not_healed")

    paper = told(donor)

    assert NOT_YET in paper
    assert "did not heal" not in paper
    assert "would have asked the funds for 2,600.00" in paper
    assert statement(donor).without_line == ("Bracken",)
    assert (asked_of(clinic, Role.VET), asked_of(clinic, Role.MANAGER)) == ([WAITS], [])


def test_i3_what_the_vet_approved_stands_until_something_else_happens(clinic, chosen):
    """A new operation asks again, and so does the end; a paper of earlier days keeps the line of those days."""
    path, donor = chosen
    first, second = operations_of(path)
    result(clinic, first, "not_healed", on=DAY - timedelta(days=1))
    kept = approve(clinic, path)

    assert WORDS in told(donor)
    assert asked_of(clinic, Role.VET) == []
    assert statement(donor).kept_facts()["medical_lines"] == [kept.pk]

    result(clinic, second, "healed", on=TODAY)
    assert WORDS not in told(donor)
    assert WORDS in told(donor, DAY)
    assert asked_of(clinic, Role.VET) == [WAITS]

    approve(clinic, path, words="A second operation healed it")
    assert "A second operation healed it." in told(donor)
    path_results.end(path=path, ending="healed", on=TODAY, by=clinic.vet, today=TODAY, at=AT)
    assert "A second operation healed it." not in told(donor)
    assert [one.code.count(";") for one in path_course.course(path=path).states] == [0, 0, 2]


def test_i3_a_changed_plan_changes_nothing_that_donors_read(clinic, grafts, chosen):  # noqa: F811
    path, donor = chosen
    result(clinic, operations_of(path)[0], "not_healed")
    approve(clinic, path)

    anew = plan(clinic, grafts, path.animal, on=TODAY)
    assert WORDS in told(donor)

    result(clinic, operations_of(anew)[0], "healed", on=TODAY)
    assert WORDS not in told(donor)
    assert path_course.course(path=anew) == path_course.course(path=path)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("The leg was saved", "No animal is called saved"),
        ("It healed for 1,200.00", "No amount stands in this line"),
        ("It took USD 40 of dressings", "No amount stands in this line"),
        ("It will heal by spring", "This line promises nothing"),
        ("The next graft is guaranteed to hold", "This line promises nothing"),
        ("She was euthanized on Monday", "A death is told quietly"),
        ("   ", "Write what was done"),
    ],
)
def test_i3_words_that_donors_are_not_to_read_are_refused(clinic, chosen, words, sentence):
    with pytest.raises(WordsRefused, match=sentence):
        approve(clinic, chosen[0], words=words)

    assert not MedicalLine.objects.exists()


def test_measures_classes_and_counts_are_no_amounts():
    line = "After 2 operations under ASA 2 the wound is 2.5 cm long, 36 x 22 mm, and 30 per cent smaller."

    assert formulas.checked(line) == line


def test_only_a_vet_approves_and_only_how_the_path_stands(clinic, chosen):
    path, _ = chosen
    first = path_course.course(path=path).states[-1].code
    result(clinic, operations_of(path)[0], "not_healed", on=DAY - timedelta(days=3))

    with pytest.raises(NotAVet):
        approve(clinic, path, by=clinic.manager)
    with pytest.raises(MovedOn):
        approve(clinic, path, state=first)
    kept = approve(clinic, path, key=(key := uuid.uuid4()))
    assert approve(clinic, path, key=key) == kept
    with pytest.raises(KeyUsedAgain):
        approve(clinic, path, key=key, words="Other words.")
    assert MedicalLine.objects.get() == kept


def test_an_approved_line_is_written_once(clinic, chosen):
    kept = approve(clinic, chosen[0])
    for change in (lambda: MedicalLine.objects.update(words="Other."), lambda: MedicalLine.objects.all().delete()):
        with pytest.raises(IntegrityError, match="never changed or deleted"), transaction.atomic():
            change()

    approve(clinic, chosen[0], words="Said better.")

    assert list(MedicalLine.objects.values_list("words", flat=True)) == [kept.words, "Said better."]
    assert "Said better." in told(chosen[1])


def test_the_page_asks_shows_and_keeps(clinic, chosen, client):
    """The vet reads the proposed words in the paragraph, approves her own, and the path's page tells them."""
    path, _ = chosen
    result(clinic, operations_of(path)[0], "not_healed")
    address = reverse("clinic:medical_line", args=[path.pk])
    client.force_login(clinic.vet, "django.contrib.auth.backends.ModelBackend")

    before = client.get(address).content.decode()
    state = path_course.course(path=path).states[-1].code
    said = {"key": uuid.uuid4(), "state": state, "words": "The hock was saved."}
    refused = client.post(address, said)
    answer = client.post(address, said | {"words": WORDS})
    after = client.get(reverse("clinic:path", args=[path.pk])).content.decode()

    assert "1 operation has been done: 0 healed, 1 did not heal. It has not ended yet." in before
    assert (refused.status_code, "No animal is called saved" in refused.content.decode()) == (422, True)
    assert (answer.status_code, answer["Location"]) == (303, address)
    assert WORDS in after and f"Approved by {clinic.vet.name}" in after
    client.force_login(clinic.manager, "django.contrib.auth.backends.ModelBackend")
    assert client.post(address, said).status_code == 403
    assert "Approve as" not in client.get(address).content.decode()


def test_a_path_that_nobody_chose_has_no_line(clinic, planned, client):
    client.force_login(clinic.vet, "django.contrib.auth.backends.ModelBackend")

    page = client.get(reverse("clinic:medical_line", args=[planned.pk])).content.decode()

    assert "Donors read nothing of this path yet." in page
    assert asked_of(clinic, Role.VET) == []
