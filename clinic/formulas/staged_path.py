"""What lies ahead of an animal on a staged path, exactly: costs, days and chances in Fractions.

A staged path is a row of operations, each tried only if the one before did not heal; after the last
one that the rule allows, the fallback (the single procedure) ends the case. The chain has one state
for each operation still possible, so the whole distribution is a short sum and needs no simulation:

    chance to heal with operation j  =  (1 - p1) ... (1 - p[j-1]) * pj
    chance to need the fallback      =  (1 - p1) ... (1 - pk)

A day costs the same on every path, and its cost is part of every figure here. What has been spent
already is no input: it cannot change what is still to come. The figures assume that the animal
survives each anesthetic. Method: absorbing chains (Grinstead & Snell, ch. 11) and backward induction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

ZERO, ONE = Fraction(0), Fraction(1)


class ImpossiblePlan(ValueError):
    """A plan that no animal could be on; the message names the field."""


@dataclass(frozen=True, kw_only=True)
class Step:
    """Something that is done once: its cost without days, and the days that it takes."""

    cost: Fraction = ZERO
    days: Fraction = ZERO

    def __post_init__(self) -> None:
        if self.cost < 0 or self.days < 0:
            raise ImpossiblePlan("A cost and a number of days are never below zero.")


@dataclass(frozen=True, kw_only=True)
class Operation(Step):
    """One operation still possible; `success` is the chance (0 to 1) that it heals."""

    success: Fraction

    def __post_init__(self) -> None:
        super().__post_init__()
        if not 0 <= self.success <= 1:
            raise ImpossiblePlan("A chance lies between 0 and 1.")


@dataclass(frozen=True, kw_only=True)
class Single(Step):
    """The single procedure, done instead of the staged path, with its possible complication."""

    complication: Fraction = ZERO
    complication_cost: Fraction = ZERO

    def __post_init__(self) -> None:
        super().__post_init__()
        if not 0 <= self.complication <= 1:
            raise ImpossiblePlan("A chance lies between 0 and 1.")
        if self.complication_cost < 0:
            raise ImpossiblePlan("A cost and a number of days are never below zero.")


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The operations still possible, in order, and what stands beside and behind them."""

    operations: tuple[Operation, ...]
    after_success: Step
    fallback: Step
    single: Single
    daily_cost: Fraction = ZERO

    def __post_init__(self) -> None:
        if not self.operations:
            raise ImpossiblePlan("A staged path needs at least one operation.")
        if self.daily_cost < 0:
            raise ImpossiblePlan("A cost and a number of days are never below zero.")


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One way in which the case may end: after how many operations, healed or not, at what cost."""

    operations: int
    healed: bool
    cost: Fraction
    days: Fraction
    chance: Fraction


def full_cost(*, step: Step, daily_cost: Fraction) -> Fraction:
    """Return the cost of a step with its days, and with its expected complication if it has one.

    >>> full_cost(step=Single(cost=Fraction(2600), days=Fraction(4), complication=Fraction(1, 10),
    ...     complication_cost=Fraction(300)), daily_cost=Fraction(20))
    Fraction(2710, 1)
    """
    extra = step.complication * step.complication_cost if isinstance(step, Single) else ZERO
    return step.cost + step.days * daily_cost + extra


def outcomes(*, plan: Plan, operations: int) -> tuple[Outcome, ...]:
    """Return every way the case may end if at most `operations` are made and then the fallback.

    In the order in which they may happen; a way that cannot happen (chance 0) is left out.

    >>> plan = Plan(operations=(Operation(cost=Fraction(1200), success=Fraction(60, 100)),
    ...                         Operation(cost=Fraction(1500), success=Fraction(45, 100))),
    ...             after_success=Step(), fallback=Step(cost=Fraction(2600)),
    ...             single=Single(cost=Fraction(2600)))
    >>> for way in outcomes(plan=plan, operations=2):
    ...     print(way.operations, way.healed, way.cost, way.chance)
    1 True 1200 3/5
    2 True 2700 9/50
    2 False 5300 11/50

    :raises ImpossiblePlan: when more operations are asked for than the plan has, or none.
    """
    if not 1 <= operations <= len(plan.operations):
        raise ImpossiblePlan("The plan does not have that many operations.")
    ways: list[Outcome] = []
    spent, days, reach = ZERO, ZERO, ONE
    for number, operation in enumerate(plan.operations[:operations], start=1):
        spent += full_cost(step=operation, daily_cost=plan.daily_cost)
        days += operation.days
        ways.append(_ending(plan, number, True, plan.after_success, spent, days, reach * operation.success))
        reach *= 1 - operation.success
    ways.append(_ending(plan, operations, False, plan.fallback, spent, days, reach))
    return tuple(way for way in ways if way.chance)


def _ending(
    plan: Plan, operations: int, healed: bool, last: Step, spent: Fraction, days: Fraction, chance: Fraction
) -> Outcome:
    return Outcome(
        operations=operations,
        healed=healed,
        cost=spent + full_cost(step=last, daily_cost=plan.daily_cost),
        days=days + last.days,
        chance=chance,
    )


def worth_trying(*, plan: Plan) -> tuple[bool, ...]:
    """Return, for each operation, whether making it is cheaper on average than converting instead.

    Backward induction: the value after the last operation is the fallback; before each operation it is
    the smaller of the fallback and of trying. For the first one the single procedure (with its
    complication) stands in the fallback's place. A tie converts.

    >>> price = [(1200, 60), (1500, 45), (1500, 25)]
    >>> plan = Plan(operations=tuple(Operation(cost=Fraction(c), success=Fraction(p, 100)) for c, p in price),
    ...             after_success=Step(), fallback=Step(cost=Fraction(2600)), single=Single(cost=Fraction(2600)))
    >>> worth_trying(plan=plan)
    (True, False, False)
    """
    fallback = full_cost(step=plan.fallback, daily_cost=plan.daily_cost)
    healed = full_cost(step=plan.after_success, daily_cost=plan.daily_cost)
    single = full_cost(step=plan.single, daily_cost=plan.daily_cost)
    answers: list[bool] = []
    after = fallback
    for place, operation in reversed(list(enumerate(plan.operations))):
        trying = (
            full_cost(step=operation, daily_cost=plan.daily_cost)
            + operation.success * healed
            + (1 - operation.success) * after
        )
        answers.append(trying < (fallback if place else single))
        after = min(trying, fallback)
    return tuple(reversed(answers))


def best_stop(*, answers: Sequence[bool]) -> int:
    """Return how many operations the best rule makes if each fails, given that the first one is made.

    >>> best_stop(answers=(True, False, True)), best_stop(answers=(False, True, True))
    (1, 3)
    """
    later = list(answers[1:])
    return 1 + (later.index(False) if False in later else len(later))
