"""What an operation of a treatment path came to, and how the path ended.

DecisionRefused
└── ResultRefused
    ├── RecordedAlready  another result is recorded
    ├── NotMade          nobody chose the path, so nothing was done on it
    ├── OutOfTurn        the operation before it has no result yet, or has healed
    └── DayNotPossible   in the future, before the ways parted, or before the operation before it
"""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from clinic.actions import history, orders, path_money
from clinic.actions.path_decisions import DecisionRefused, PathEnded, open_path
from clinic.models import PathStep, TreatmentPath, User

Result = PathStep.Result


class ResultRefused(DecisionRefused):
    """Nothing was recorded."""


class RecordedAlready(ResultRefused):
    pass


class NotMade(ResultRefused):
    pass


class OutOfTurn(ResultRefused):
    pass


class DayNotPossible(ResultRefused):
    field = "on"


@transaction.atomic
def record_result(
    *,
    step: PathStep,
    result: str,
    complication: str,
    on: date,
    by: User,
    today: date,
    at: datetime,
) -> PathStep:
    """Record what an operation came to; a complication is a fact of its own, healed or not.

    :raises RecordedAlready: when another result is recorded; the same one sent again is harmless.
    :raises NotMade: when the path was never chosen.
    :raises OutOfTurn: when the operation before it has no result yet, or has healed.
    :raises DayNotPossible: when the day has not come yet, or lies before the ways parted or the operation before.
    """
    path = open_path(path=step.path)
    step = PathStep.objects.select_for_update().get(pk=step.pk, part=PathStep.Part.OPERATION)
    if step.result:
        if (step.result, step.complication, step.done_on) == (result, complication, on):
            return step
        raise RecordedAlready("What this operation came to is recorded already. Nothing was changed.")
    if path.parted_on is None:
        raise NotMade("Nobody has chosen this path yet. Decide for it first; nothing was recorded.")
    before = path.steps.filter(part=PathStep.Part.OPERATION, position__lt=step.position).order_by("position").last()
    if before and not before.result:
        raise OutOfTurn("The operation before this one has no result yet. Record that one first.")
    if before and before.result == Result.HEALED:
        raise OutOfTurn("The operation before this one has healed, so this one is not made. Nothing was recorded.")
    if on > today:
        raise DayNotPossible("That day has not come yet. Nothing was recorded.")
    if on < (before.done_on if before else path.parted_on):
        raise DayNotPossible("That day lies before the decision or the operation before it. Nothing was recorded.")
    step.result, step.complication, step.done_on = result, complication, on
    step.recorded_by, step.recorded_at = by, at
    step.save(update_fields=["result", "complication", "done_on", "recorded_by", "recorded_at"])
    history.note(
        animal=path.animal,
        what="operation",
        what_id=step.pk,
        by=by,
        at=at,
        after={"result": result, "complication": complication, "on": str(on)},
    )
    return step


@transaction.atomic
def end(*, path: TreatmentPath, ending: str, on: date, by: User, today: date, at: datetime) -> TreatmentPath:
    """End a path. Dying and withdrawal are endings of their own, never "did not heal".

    Every end frees what was set aside and ends the animal's orders (G4).

    :raises PathEnded: when it has ended otherwise; the same end sent again is harmless.
    :raises DayNotPossible: when the day has not come yet, or lies before the ways parted.
    """
    path = TreatmentPath.objects.select_for_update().select_related("animal").get(pk=path.pk)
    if path.ended_on:
        if (path.ended_on, path.ending) == (on, ending):
            return path
        raise PathEnded(f"This path ended on {path.ended_on}: {path.get_ending_display()}. Nothing was changed.")
    if on > today or on < (path.parted_on or path.planned_on):
        raise DayNotPossible("A path ends on a day that has come, and not before it began. Nothing was changed.")
    path.ended_on, path.ending = on, ending
    path.save(update_fields=["ended_on", "ending"])
    path_money.ended(path=path, on=on, by=by)
    for order in path.animal.orders.filter(stopped_on__isnull=True):
        orders.stop(order=order, on=on, by=by, at=at, why=f"the path ended: {path.get_ending_display()}")
    history.note(
        animal=path.animal, what="path", what_id=path.pk, by=by, at=at, after={"ended_on": str(on), "ending": ending}
    )
    return path
