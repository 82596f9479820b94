"""Follow-ups: planned after an operation or a stay, moved with a reason, done with a result; lost is a result too.

Refusal
└── FollowUpRefused
    ├── DueAlready        the day has passed
    ├── DoneAhead         a result of a day that has not come yet
    ├── DoneAlready       it has another result
    ├── PlannedAlready    the key belongs to another follow-up
    └── PlanTwice         the same thing stands twice in a procedure's usual follow-ups
"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from clinic.actions import history
from clinic.models import Animal, CareItem, FollowUp, FollowUpKind, FollowUpPlan, Service, Stay, User
from config.days import day_year
from config.refusal import Refusal

Result = FollowUp.Result


class FollowUpRefused(Refusal):
    """Nothing was changed."""


class DueAlready(FollowUpRefused):
    field = "due_on"

    def __init__(self, on: date) -> None:
        super().__init__(f"{day_year(on)} has passed. Choose today or a later day; nothing was saved.")


class DoneAhead(FollowUpRefused):
    field = "done_on"

    def __init__(self, on: date) -> None:
        super().__init__(f"{day_year(on)} has not come yet. Nothing was saved.")


class DoneAlready(FollowUpRefused):
    def __init__(self, kept: FollowUp) -> None:
        super().__init__(
            f"This follow-up has its result: {kept.get_result_display()}, {kept.done_on}. Nothing was changed; "
            "plan another one if there is more to ask."
        )


class PlannedAlready(FollowUpRefused):
    def __init__(self) -> None:
        super().__init__("This form has planned another follow-up already. Nothing was written twice; open a new one.")


class PlanTwice(FollowUpRefused):
    field = "plans"

    def __init__(self, words: str) -> None:
        super().__init__(f"“{words}” stands twice for one day. Write it once; nothing was saved.")


@transaction.atomic
def usually(*, service: Service, plans: Sequence[tuple[int, str, str]]) -> int:
    """Say what is usually asked after a procedure: days after it, kind, words; what is planned already stays.

    :raises PlanTwice: when the same thing stands twice.
    """
    twice = next((plan for plan in plans if list(plans).count(plan) > 1), None)
    if twice:
        raise PlanTwice(twice[2])
    service.follow_up_plans.all().delete()
    made = [FollowUpPlan(service=service, days_after=days, kind=kind, words=words) for days, kind, words in plans]
    return len(FollowUpPlan.objects.bulk_create(made))


@transaction.atomic
def plan(
    *, key: UUID, animal: Animal, kind: str, words: str, due_on: date, by: User, today: date, at: datetime
) -> FollowUp:
    """Plan one follow-up by hand; the same form sent twice is one.

    :raises DueAlready: when the day has passed.
    :raises PlannedAlready: when the key belongs to another follow-up.
    """
    known = FollowUp.objects.filter(key=key).first()
    if known:
        if (known.animal_id, known.kind, known.words) != (animal.pk, kind, words):
            raise PlannedAlready
        return known
    if due_on < today:
        raise DueAlready(due_on)
    return _planned([FollowUp(key=key, animal=animal, kind=kind, words=words, due_on=due_on)], by=by, at=at)[0]


def plan_after(*, item: CareItem, by: User, at: datetime) -> list[FollowUp]:
    """Plan what is usually asked after a procedure; for the same procedure it is planned once."""
    known = {follow_up.key for follow_up in item.follow_ups.all()}
    made = []
    for usual in FollowUpPlan.objects.filter(service=item.service).order_by("days_after", "pk"):
        key = uuid5(item.key, f"{usual.days_after} {usual.kind} {usual.words}")
        due_on = item.on + timedelta(days=usual.days_after)
        said = {"kind": usual.kind, "words": usual.words, "due_on": due_on}
        made.append(FollowUp(key=key, animal=item.animal, care_item=item, **said))
    return _planned([follow_up for follow_up in made if follow_up.key not in known], by=by, at=at)


def plan_after_stay(*, stay: Stay, days_after: int, words: str, by: User, at: datetime) -> FollowUp:
    """Plan what is asked so many days after an animal left: a visit in its foster home, else a question."""
    kind = FollowUpKind.VISIT if stay.left_to == Stay.LeftTo.FOSTER else FollowUpKind.QUESTION
    due_on = stay.discharged_on + timedelta(days=days_after)
    return _planned([FollowUp(key=uuid4(), animal=stay.animal, kind=kind, words=words, due_on=due_on)], by=by, at=at)[0]


@transaction.atomic
def move(*, follow_up: FollowUp, due_on: date, why: str, by: User, today: date, at: datetime) -> FollowUp:
    """Put a follow-up on another day; the day before and the reason stay in the history.

    :raises DueAlready: when the new day has passed.
    :raises DoneAlready: when it has its result.
    """
    follow_up = _open(follow_up)
    if follow_up.due_on == due_on:
        return follow_up
    if due_on < today:
        raise DueAlready(due_on)
    before = {"due_on": str(follow_up.due_on)}
    follow_up.due_on = due_on
    follow_up.save(update_fields=["due_on"])
    _told(follow_up, by=by, at=at, before=before, after={"due_on": str(due_on)}, why=why)
    return follow_up


@transaction.atomic
def done(
    *, follow_up: FollowUp, result: str, words: str, done_on: date, by: User, today: date, at: datetime
) -> FollowUp:
    """Write down what came of a follow-up. After a death nothing more of that animal is asked.

    :raises DoneAhead: when the day has not come yet.
    :raises DoneAlready: when it has another result; the same one sent again is harmless.
    """
    kept = FollowUp.objects.get(pk=follow_up.pk)
    if kept.result and (kept.result, kept.done_on, kept.result_words) == (result, done_on, words):
        return kept
    follow_up = _open(follow_up)
    if done_on > today:
        raise DoneAhead(done_on)
    _close([follow_up], result=result, words=words, on=done_on, by=by, at=at)
    if result == Result.DIED:
        drop_all(animal=follow_up.animal, why="it has died", on=done_on, by=by, at=at)
    return follow_up


def drop_all(*, animal: Animal, why: str, on: date, by: User, at: datetime) -> None:
    """Ask nothing more of an animal."""
    _close(list(animal.follow_ups.filter(result="")), result=Result.DROPPED, words=why, on=on, by=by, at=at)


def drop_after(*, item: CareItem, on: date, by: User, at: datetime) -> None:
    """Ask nothing more after a procedure that was taken back."""
    open_ones = item.follow_ups.filter(result="").select_related("animal")
    _close(list(open_ones), result=Result.DROPPED, words="the procedure was taken back", on=on, by=by, at=at)


def _open(follow_up: FollowUp) -> FollowUp:
    follow_up = FollowUp.objects.select_for_update(of=("self",)).select_related("animal").get(pk=follow_up.pk)
    if follow_up.result:
        raise DoneAlready(follow_up)
    return follow_up


def _planned(made: list[FollowUp], *, by: User, at: datetime) -> list[FollowUp]:
    for follow_up in made:
        follow_up.planned_by, follow_up.planned_at = by, at
        follow_up.save()
        _told(follow_up, by=by, at=at, after={"due_on": str(follow_up.due_on), "words": follow_up.words})
    return made


def _close(open_ones: list[FollowUp], *, result: str, words: str, on: date, by: User, at: datetime) -> None:
    for follow_up in open_ones:
        follow_up.result, follow_up.result_words, follow_up.done_on = result, words, on
        follow_up.done_by, follow_up.done_at = by, at
        follow_up.save(update_fields=["result", "result_words", "done_on", "done_by", "done_at"])
        _told(follow_up, by=by, at=at, after={"result": result, "on": str(on)}, why=words)


def _told(follow_up: FollowUp, *, by: User, at: datetime, after: dict, before: dict | None = None, why: str = ""):
    history.note(
        animal=follow_up.animal, what="follow-up", what_id=follow_up.pk, by=by, at=at, before=before, after=after,
        why=why,
    )  # fmt: skip
