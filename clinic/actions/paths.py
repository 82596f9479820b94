"""Planning a treatment path: its operations in order, and the single procedure beside it.

Refusal
└── PlanRefused
    ├── NoOperation
    ├── ChanceImpossible     a chance outside 0 to 1
    ├── RangeImpossible      a range without one of its ends, or beside its figure
    ├── ChanceWithoutSource  a chance says where it comes from
    ├── DaysWithoutLevel     a day in the ward has a boarding level, and so a price
    ├── CostNegative
    ├── KeyUsedAgain         the key belongs to another plan
    └── NotAProcedure        an operation is a procedure of the price list
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from djmoney.money import Money

from clinic.actions import history
from clinic.forms.path_steps import OperationSaid, SingleSaid, StepSaid
from clinic.models import Animal, PathStep, Service, TreatmentPath, User
from config.refusal import Refusal
from ledger.queries import holder

Part, Ending = PathStep.Part, TreatmentPath.Ending


class PlanRefused(Refusal):
    """A plan that was not kept; nothing is written."""


class NoOperation(PlanRefused):
    pass


class ChanceImpossible(PlanRefused):
    field = "chance"


class RangeImpossible(PlanRefused):
    field = "chance_low"


class ChanceWithoutSource(PlanRefused):
    field = "chance_source"


class DaysWithoutLevel(PlanRefused):
    field = "level"


class CostNegative(PlanRefused):
    field = "typed_cost"


class KeyUsedAgain(PlanRefused):
    pass


class NotAProcedure(PlanRefused):
    field = "service"


@transaction.atomic
def plan(
    *,
    key: UUID,
    animal: Animal,
    name: str,
    keeps: str,
    operations: Sequence[OperationSaid],
    after_success: StepSaid,
    fallback: StepSaid,
    single: SingleSaid,
    by: User,
    on: date,
    at: datetime,
) -> TreatmentPath:
    """Keep a plan. An open plan of the animal is kept too and ends as replaced; what was decided stays with it.

    The same key sent again returns the plan it made.

    :raises NoOperation: when no operation is planned.
    :raises ChanceImpossible: when a chance does not lie between 0 and 1.
    :raises RangeImpossible: when a range lacks an end, or does not hold its figure.
    :raises ChanceWithoutSource: when a chance does not say where it comes from.
    :raises DaysWithoutLevel: when days are planned without the level at which the animal boards.
    :raises CostNegative: when a typed cost, or the complication's, is below zero.
    :raises NotAProcedure: when an operation or the single procedure is none of the price list.
    :raises KeyUsedAgain: when the key belongs to another animal's plan.
    """
    known = TreatmentPath.objects.filter(key=key.hex).first()
    if known:
        if known.animal_id == animal.pk and known.name == name:
            return known
        raise KeyUsedAgain("This form was sent before with another plan. Open it again; nothing was saved.")
    said = _in_order(operations, after_success, fallback, single)
    for part, _, step in said:
        _check(part, step)
    Animal.objects.select_for_update().get(pk=animal.pk)
    before = animal.paths.filter(ended_on__isnull=True).first()
    if before:
        before.ended_on, before.ending = max(on, before.parted_on or on), Ending.REPLACED
        before.save(update_fields=["ended_on", "ending"])
    path = TreatmentPath.objects.create(
        key=key.hex,
        animal=animal,
        name=name,
        keeps=keeps,
        replaces=before,
        parted_on=before.parted_on if before else None,
        planned_by=by,
        planned_on=on,
        planned_at=at,
    )
    currency = holder.holder().currency
    PathStep.objects.bulk_create(_step(path, part, position, step, currency) for part, position, step in said)
    history.note(animal=animal, what="path", what_id=path.pk, by=by, at=at, after={"name": name, "planned_on": str(on)})
    return path


def _in_order(operations, after_success, fallback, single) -> list[tuple[str, int, StepSaid]]:
    if not operations:
        raise NoOperation("A staged path has at least one operation. Nothing was saved.")
    return [
        *((Part.OPERATION, position, step) for position, step in enumerate(operations, start=1)),
        (Part.AFTER_SUCCESS, 1, after_success),
        (Part.FALLBACK, 1, fallback),
        (Part.SINGLE, 1, single),
    ]


def _check(part: str, step: StepSaid) -> None:
    is_procedure = step.service is not None and step.service.kind == Service.Kind.PROCEDURE
    if part != Part.AFTER_SUCCESS and not is_procedure:
        raise NotAProcedure("Choose a procedure of the price list. Nothing was saved.")
    if step.days and step.level is None:
        raise DaysWithoutLevel("Choose the boarding level for these days, so that they have a price.")
    amounts = [step.typed_cost or 0, getattr(step, "complication_cost", 0)]
    if step.days < 0 or min(amounts) < 0:
        raise CostNegative("A cost and a number of days are never below zero. Nothing was saved.")
    for chance in (getattr(step, "chance", Decimal(0)), getattr(step, "complication_chance", Decimal(0))):
        if not 0 <= chance <= 1:
            raise ChanceImpossible("A chance lies between 0 and 100 in 100. Nothing was saved.")
    if isinstance(step, OperationSaid):
        _check_ranges(step)
    if isinstance(step, OperationSaid) and step.chance_source not in PathStep.Source.values:
        raise ChanceWithoutSource("Say where this chance comes from. Nothing was saved.")
    if isinstance(step, OperationSaid) and step.chance_source != PathStep.Source.VET and not step.chance_n:
        raise ChanceWithoutSource("Say from how many cases this chance comes. Nothing was saved.")


def _check_ranges(step: OperationSaid) -> None:
    for least, said, most, what in (
        (step.chance_low, step.chance, step.chance_high, "chance"),
        (step.days_low, step.days, step.days_high, "days"),
    ):
        if (least is None) != (most is None):
            raise RangeImpossible(f"Write both ends of the range of the {what}, or none. Nothing was saved.")
        if least is not None and most is not None and not max(least, 0) <= said <= most:
            raise RangeImpossible(f"The {what} of the plan lies inside its own range. Nothing was saved.")
    if step.chance_high is not None and step.chance_high > 1:
        raise RangeImpossible("A chance lies between 0 and 100 in 100. Nothing was saved.")


def _step(path: TreatmentPath, part: str, position: int, said: StepSaid, currency: str) -> PathStep:
    step = PathStep(
        path=path,
        part=part,
        position=position,
        service=said.service,
        typed_cost=None if said.typed_cost is None else Money(said.typed_cost, currency),
        days=said.days,
        level=said.level,
        daily_service=said.daily_service,
        complication_cost=Money(0, currency),
    )
    if isinstance(said, OperationSaid):
        step.chance, step.chance_source = said.chance, said.chance_source
        step.chance_words, step.chance_n = said.chance_words, said.chance_n
        step.chance_low, step.chance_high = said.chance_low, said.chance_high
        step.days_low, step.days_high = said.days_low, said.days_high
    if isinstance(said, SingleSaid):
        step.complication_chance = said.complication_chance
        step.complication_cost = Money(said.complication_cost, currency)
    return step
