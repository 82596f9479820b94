"""Follow-ups: planned from what a procedure usually asks for, moved with a reason, done with a result; lost is one."""

import uuid
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import care, follow_ups, procedures, stays
from clinic.models import Change, FollowUp, FollowUpPlan
from clinic.queries import follow_ups as queries
from clinic.queries.needs_of_follow_up import needs_of_follow_up
from clinic.queries.without_follow_up import without_follow_up
from config.refusal import Refusal
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db

USUAL = [(12, "sutures", "Take the sutures out"), (90, "question", "How is it walking?")]


@pytest.fixture
def clinic():
    clinic = make.open_clinic()
    follow_ups.usually(service=clinic.surgery, plans=USUAL)
    return clinic


def operate(clinic, animal, on: date = DAY):
    item = clinic.give(animal, clinic.surgery, on=on)
    care.operate(item=item, asa_class=2, vet=clinic.vet)
    return item


def discharge(clinic, stay, left_to: str = "foster", **more):
    said = {"discharged_on": TODAY, "left_to": left_to, "why": ""} | more
    return stays.discharge(stay=stay, **said, by=clinic.vet, today=TODAY, at=AT)


def done(clinic, follow_up, result: str, *, on: date = TODAY, words: str = ""):
    said = {"result": result, "words": words, "done_on": on}
    return follow_ups.done(follow_up=follow_up, **said, by=clinic.nurse, today=TODAY, at=AT)


def test_a_procedure_plans_what_it_usually_asks_for_once(clinic):
    animal = clinic.admit().animal

    item = operate(clinic, animal)
    care.operate(item=item, asa_class=2, vet=clinic.vet)

    planned = animal.follow_ups.order_by("due_on").values_list("kind", "words", "due_on", "care_item", "result")
    assert list(planned) == [
        ("sutures", "Take the sutures out", DAY + timedelta(days=12), item.pk, ""),
        ("question", "How is it walking?", DAY + timedelta(days=90), item.pk, ""),
    ]


def test_what_is_recorded_on_the_page_is_planned_too(clinic):
    animal = clinic.admit().animal
    given = care.Given(key=uuid.uuid4(), animal=animal, on=DAY, service=clinic.surgery)

    said = {"asa_class": 2, "vet": clinic.vet}
    procedures.operate(given=given, said=said, took=None, room_minutes=None, by=clinic.vet, today=DAY, at=AT)

    assert animal.follow_ups.count() == 2


def test_a_procedure_taken_back_is_not_asked_after(clinic):
    animal = clinic.admit().animal
    item = operate(clinic, animal)

    care.undo(item=item, by=clinic.vet, at=AT)

    assert set(animal.follow_ups.values_list("result", "result_words")) == {("dropped", "the procedure was taken back")}


def test_a_change_of_what_is_usual_leaves_what_is_planned(clinic):
    animal = clinic.admit().animal
    operate(clinic, animal)

    follow_ups.usually(service=clinic.surgery, plans=[(5, "recheck", "Is it dry?")])

    assert list(FollowUpPlan.objects.values_list("days_after", "kind", "words")) == [(5, "recheck", "Is it dry?")]
    assert animal.follow_ups.count() == 2


def test_moving_keeps_the_day_before_and_the_reason(clinic):
    animal = clinic.admit().animal
    operate(clinic, animal)
    first = animal.follow_ups.earliest("due_on")

    said = {"due_on": TODAY + timedelta(days=20), "why": "the foster is away"}
    follow_ups.move(follow_up=first, **said, by=clinic.nurse, today=TODAY, at=AT)

    shown = queries.follow_up(follow_up=first, on=TODAY)
    assert [(move.from_on, move.why, move.by) for move in shown.moves] == [
        (DAY + timedelta(days=12), "the foster is away", "PQ")
    ]
    moved = Change.objects.filter(what="follow-up", what_id=first.pk).latest("pk")
    assert (moved.before, moved.after, moved.why) == (
        {"due_on": str(DAY + timedelta(days=12))},
        {"due_on": str(TODAY + timedelta(days=20))},
        "the foster is away",
    )


def test_results_are_counted_and_lost_is_one_of_them(clinic):
    animal, other = clinic.admit().animal, clinic.admit("Tansy").animal
    operate(clinic, animal)
    operate(clinic, other)
    sutures, walking = animal.follow_ups.order_by("due_on")
    done(clinic, sutures, "well")
    done(clinic, walking, "lost", words="three calls")
    done(clinic, other.follow_ups.earliest("due_on"), "died")

    results = queries.follow_up_results(from_on=TODAY, until_on=TODAY)

    assert [(one.words, one.count) for one in results.counts] == [
        ("as hoped", 1), ("needs care", 0), ("died", 1), ("lost to follow-up", 1),
    ]  # fmt: skip
    assert (results.asked, results.lost, results.dropped, results.open) == (3, 1, 1, 0)
    before = queries.follow_up_results(from_on=date(2026, 1, 1), until_on=DAY)
    assert (before.asked, before.lost, before.dropped, before.open) == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("act", "says"),
    [
        (lambda c, f: done(c, f, "well", on=TODAY + timedelta(days=1)), "October 15, 2026 has not come yet"),
        (lambda c, f: follow_ups.move(follow_up=f, due_on=DAY, why="", by=c.nurse, today=TODAY, at=AT), "has passed"),
        (lambda c, f: follow_ups.usually(service=c.surgery, plans=[USUAL[0], USUAL[0]]), "stands twice"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence_and_changes_nothing(clinic, act, says):
    animal = clinic.admit().animal
    operate(clinic, animal)
    before = list(FollowUp.objects.values_list()), list(FollowUpPlan.objects.values_list())

    with pytest.raises(Refusal, match=says):
        act(clinic, animal.follow_ups.earliest("due_on"))

    assert (list(FollowUp.objects.values_list()), list(FollowUpPlan.objects.values_list())) == before


def test_a_result_is_written_once_and_the_same_one_again_is_harmless(clinic):
    animal = clinic.admit().animal
    operate(clinic, animal)
    first = animal.follow_ups.earliest("due_on")
    done(clinic, first, "well")

    assert done(clinic, first, "well").result == "well"
    with pytest.raises(follow_ups.DoneAlready, match="This follow-up has its result: as hoped"):
        done(clinic, first, "lost")


def test_the_database_knows_no_result_without_its_day(clinic):
    animal = clinic.admit().animal
    operate(clinic, animal)

    with pytest.raises(IntegrityError, match="follow_up_result_has_its_day_and_name"), transaction.atomic():
        FollowUp.objects.update(result="well")


def test_the_list_puts_the_overdue_first_and_those_of_one_foster_together(clinic):
    for name, days, who in (("Ash", 30, "Odile, 555-0142"), ("Birch", 20, "Wendell"), ("Cedar", 10, "Odile, 555-0142")):
        stay = clinic.admit(name, on=TODAY - timedelta(days=60))
        left = TODAY - timedelta(days=days + 5)
        discharge(clinic, stay, discharged_on=left, left_with=who, ask=(5, "How is it?"))
    stay = clinic.admit("Dogwood", on=TODAY - timedelta(days=60))
    discharge(clinic, stay, left_to="partner", discharged_on=TODAY - timedelta(days=1), ask=(1, "Does it eat?"))

    found = queries.follow_ups(on=TODAY)

    assert [(line.animal, line.call, line.days_late) for line in found.overdue] == [
        ("Ash", "Odile, 555-0142", 30), ("Cedar", "Odile, 555-0142", 10), ("Birch", "Wendell", 20),
    ]  # fmt: skip
    assert [(line.animal, line.kind, line.call) for line in found.due] == [
        ("Dogwood", "question", "Brindle Yard Rescue")
    ]
    assert {line.kind for line in found.overdue} == {"foster visit"}


def test_of_the_dead_nothing_more_is_asked(clinic):
    stay = clinic.admit()
    operate(clinic, stay.animal)

    discharge(clinic, stay, left_to="euthanized", ask=(5, "How is it?"))

    assert set(stay.animal.follow_ups.values_list("result", "result_words")) == {("dropped", "euthanized")}


def test_who_was_operated_and_left_without_a_follow_up_is_named(clinic):
    FollowUpPlan.objects.all().delete()
    operated, only_boarded, dead = clinic.admit("Ash"), clinic.admit("Birch"), clinic.admit("Cedar")
    operate(clinic, operated.animal)
    operate(clinic, dead.animal)
    for stay, to in ((operated, "adopted"), (only_boarded, "adopted"), (dead, "died")):
        discharge(clinic, stay, left_to=to)

    assert [(one.name, one.why, one.left_to) for one in without_follow_up(on=TODAY)] == [("Ash", "operated", "adopted")]
    assert [need.words for need in needs_of_follow_up(on=TODAY)] == ["animal without a follow-up"]

    due = {"kind": "recheck", "words": "How is it?", "due_on": TODAY}
    follow_ups.plan(key=uuid.uuid4(), animal=operated.animal, **due, by=clinic.nurse, today=TODAY, at=AT)
    assert without_follow_up(on=TODAY) == ()


def test_a_stay_far_beyond_the_usual_says_what_is_usual_until_somebody_is_to_look(clinic):
    for number in range(20):
        stay = clinic.admit(f"Dog {number}", on=TODAY - timedelta(days=100))
        discharge(clinic, stay, discharged_on=TODAY - timedelta(days=90 - number))
    long = clinic.admit("Elm", on=TODAY - timedelta(days=80)).animal

    said = list(needs_of_follow_up(on=TODAY))

    assert [need.words for need in said] == ["stay far beyond the usual"]
    assert said[0].detail.startswith("Elm is here for 80 days, and nine in ten of its kind have left by day 28")
    due = {"kind": "recheck", "words": "Why is it still here?", "due_on": TODAY + timedelta(days=7)}
    follow_ups.plan(key=uuid.uuid4(), animal=long, **due, by=clinic.nurse, today=TODAY, at=AT)
    assert list(needs_of_follow_up(on=TODAY)) == []


def sign_in(client, person):
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")


def test_the_pages_from_the_first_page_to_the_result(clinic, client, settings):
    settings.AS_OF = "2026-10-14"
    stay = clinic.admit(on=TODAY - timedelta(days=20))
    discharge(clinic, stay, discharged_on=TODAY - timedelta(days=9), left_with="Odile Fenn", ask=(7, "Does it eat?"))
    asked = stay.animal.follow_ups.get()
    sign_in(client, clinic.nurse)

    assert "follow-up overdue" in client.get(reverse("clinic:home")).content.decode()
    listed = client.get(reverse("clinic:follow_ups")).content.decode()
    assert "2 days late" in listed
    assert "Odile Fenn" in listed
    address = reverse("clinic:follow_up", args=[asked.pk])
    empty = client.post(address, {"done_on": "2026-10-14", "words": "eats, walks"})
    assert empty.status_code == 422
    assert "“lost to follow-up” is an answer too" in empty.content.decode()
    assert "eats, walks" in empty.content.decode()
    assert client.post(address, {"result": "well", "done_on": "2026-10-14", "words": "eats"}).status_code == 303
    assert "As hoped" in client.get(reverse("clinic:animal", args=[stay.animal_id])).content.decode()


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("twelve sutures Out", "“twelve” is no number of days"),
        ("12 stitches Out", "“stitches” is no kind"),
        ("12 sutures", "lacks its days, its kind or what is asked"),
        ("0 ask Well?", "“0” is no number of days"),
        (f"3 ask {'x' * 81}", "is too long"),
    ],
)
def test_a_line_that_cannot_be_read_is_answered_at_the_field(clinic, client, line, says):
    sign_in(client, clinic.vet)

    answer = client.post(reverse("clinic:usual_follow_ups", args=[clinic.surgery.pk]), {"plans": line})

    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert line in answer.content.decode()
    assert FollowUpPlan.objects.count() == 2


def test_the_database_knows_every_result(clinic):
    operate(clinic, clinic.admit().animal)
    kept = FollowUp.objects.first()
    with pytest.raises(IntegrityError), transaction.atomic():
        FollowUp.objects.filter(pk=kept.pk).update(result="hoped", done_on=DAY, done_by=clinic.nurse, done_at=AT)
