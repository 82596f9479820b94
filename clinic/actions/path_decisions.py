"""Deciding on a treatment path, with the figures as they stand; what an operation came to; and the path's end.

Refusal
└── DecisionRefused
    ├── NotTheirs        the vet answers for care, the manager for money, and one of them decides
    ├── PlanNotPriced    a step has no price, so no figure could be kept
    ├── NotChosen        nothing is decided or done on a plan that nobody chose
    ├── ChosenAlready, ConvertedAlready, RecordedAlready, PathEnded, KeyUsedAgain
    ├── NothingLeft      no operation is left to go on with
    ├── DayImpossible    in the future, before the ways parted, or before the operation before it
    └── OutOfTurn        the operation before it has no result yet
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import history, path_money
from clinic.formulas import path_figures
from clinic.models import PathDecision, TreatmentPath, User
from clinic.queries import path_plan
from config.refusal import Refusal
from config.roles import Role
from ledger.queries import holder

Choice = PathDecision.Choice


class DecisionRefused(Refusal):
    """Nothing was decided or recorded."""


class NotTheirs(DecisionRefused):
    field = "vet"


class PlanNotPriced(DecisionRefused):
    pass


class NotChosen(DecisionRefused):
    pass


class ChosenAlready(DecisionRefused):
    pass


class ConvertedAlready(DecisionRefused):
    pass


class PathEnded(DecisionRefused):
    pass


class KeyUsedAgain(DecisionRefused):
    pass


class NothingLeft(DecisionRefused):
    field = "choice"


class DayImpossible(DecisionRefused):
    field = "on"


@transaction.atomic
def decide(
    *,
    key: UUID,
    path: TreatmentPath,
    choice: str,
    why: str,
    vet: User,
    manager: User | None,
    on: date,
    by: User,
    today: date,
    at: datetime,
) -> PathDecision:
    """Keep a decision with the figures as they stand on its day. The first one chooses the path: the ways part.

    The same key sent again returns the decision it made.

    :raises NotTheirs: when `vet` is no vet, `manager` no manager, or `by` is neither of them.
    :raises DayImpossible: when the day has not come yet, or lies before an earlier decision.
    :raises NotChosen, ChosenAlready: when the path is not chosen yet, or is already.
    :raises NothingLeft: when no operation is left to go on with.
    :raises PlanNotPriced: when a step still to come has no price on that day.
    """
    known = PathDecision.objects.filter(key=key).first()
    if known:
        if (known.path_id, known.choice, known.why) == (path.pk, choice, why):
            return known
        raise KeyUsedAgain("This form was sent before with another decision. Open the page again; nothing was decided.")
    path = open_path(path=path)
    _may_decide(vet, manager, by)
    last = path.decisions.order_by("decided_on", "id").last()
    _follows(path, choice, last, on, today)
    priced = path_plan.priced(path=path, on=on, currency=holder.holder().currency)
    if priced.obstacle and choice != Choice.END:
        raise PlanNotPriced(f"{priced.obstacle} Set it in the price list first; nothing was decided.")
    if choice in (Choice.STAGED, Choice.CONTINUE) and not priced.left:
        raise NothingLeft("No operation of the plan is left to go on with. Plan another one first, or convert.")
    decision = PathDecision.objects.create(
        key=key,
        path=path,
        choice=choice,
        why=why,
        decided_on=on,
        vet=vet,
        manager=manager,
        at=at,
        figures=path_figures.keep(
            found=path_plan.figures(priced=priced),
            single=path_plan.frozen_single(priced=priced),
            currency=priced.currency,
            operations=[one.words for one in priced.left],
        ),
    )
    if choice == Choice.STAGED:
        path.parted_on = on
        path.save(update_fields=["parted_on"])
    path_money.decided(key=key, path=path, choice=choice, priced=priced, on=on, by=by)
    history.note(
        animal=path.animal,
        what="path",
        what_id=path.pk,
        by=by,
        at=at,
        after={"decided": choice, "on": str(on)},
        why=why[:200],
    )
    return decision


def open_path(*, path: TreatmentPath) -> TreatmentPath:
    """Lock a path and return it as it stands.

    :raises PathEnded: when it has ended.
    """
    paths = TreatmentPath.objects.select_for_update(of=("self", "animal")).select_related("animal__partner")
    path = paths.get(pk=path.pk)
    if path.ended_on:
        raise PathEnded(f"This path ended on {path.ended_on}: {path.get_ending_display()}. Nothing was changed.")
    return path


def _may_decide(vet: User, manager: User | None, by: User) -> None:
    if not vet.may(Role.VET):
        raise NotTheirs(f"{vet.name} is no vet here. The vet answers for care; nothing was decided.")
    if manager and not manager.may(Role.MANAGER):
        raise NotTheirs(f"{manager.name} is no manager here. The manager answers for money; nothing was decided.")
    if by not in (vet, manager):
        raise NotTheirs("A decision is entered by the vet or the manager whose name it carries; nothing was decided.")


def _follows(path: TreatmentPath, choice: str, last: PathDecision | None, on: date, today: date) -> None:
    if on > today:
        raise DayImpossible("That day has not come yet. Nothing was decided.")
    if on < (last.decided_on if last else path.parted_on or path.planned_on):
        raise DayImpossible("That day lies before the plan or an earlier decision. Nothing was decided.")
    if choice == Choice.STAGED and path.parted_on:
        raise ChosenAlready("The staged path is chosen already. Go on, convert, or end treatment.")
    if choice != Choice.STAGED and not path.parted_on:
        raise NotChosen("Choose the staged path first; the figures are kept from that day on.")
    if last and last.choice in (Choice.CONVERT, Choice.END):
        raise ConvertedAlready("This path is decided: the animal is converted or treatment has ended.")
