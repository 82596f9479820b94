"""Which input moves the answer most: each one over its own interval, all others as they stand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from clinic.formulas import staged_path
from clinic.formulas.staged_path import Plan


@dataclass(frozen=True, kw_only=True)
class Interval:
    """An input in words, with the plan at either end of its interval."""

    words: str
    low: Plan
    high: Plan


@dataclass(frozen=True, kw_only=True)
class Swing:
    """What the best rule costs on average at either end of an input's interval."""

    words: str
    at_low: Fraction
    at_high: Fraction

    @property
    def swing(self) -> Fraction:
        return abs(self.at_high - self.at_low)


def with_chance(*, plan: Plan, operation: int, chance: Fraction) -> Plan:
    """Return the plan with another chance for the operation at a place (0 is the next one)."""
    changed = list(plan.operations)
    changed[operation] = replace(changed[operation], success=chance)
    return replace(plan, operations=tuple(changed))


def with_days(*, plan: Plan, operation: int, days: Fraction, daily: Fraction) -> Plan:
    """Return the plan with other days for an operation, each day more or less at its price."""
    changed, one = list(plan.operations), plan.operations[operation]
    changed[operation] = replace(one, days=days, cost=one.cost + (days - one.days) * daily)
    return replace(plan, operations=tuple(changed))


def going_on(*, plan: Plan) -> Fraction:
    """Return what making the next operation and then following the best rule costs on average.

    >>> from clinic.formulas.staged_path import Operation, Single, Step
    >>> price = [(1200, 60), (1500, 45), (1500, 25)]
    >>> plan = Plan(operations=tuple(Operation(cost=Fraction(c), success=Fraction(p, 100)) for c, p in price),
    ...             after_success=Step(), fallback=Step(cost=Fraction(2600)), single=Single(cost=Fraction(2600)))
    >>> going_on(plan=plan)
    Fraction(2240, 1)
    """
    healed = staged_path.full_cost(step=plan.after_success, daily_cost=plan.daily_cost)
    fallback = staged_path.full_cost(step=plan.fallback, daily_cost=plan.daily_cost)
    after = trying = fallback
    for operation in reversed(plan.operations):
        cost = staged_path.full_cost(step=operation, daily_cost=plan.daily_cost)
        trying = cost + operation.success * healed + (1 - operation.success) * after
        after = min(trying, fallback)
    return trying


def swings(*, intervals: Iterable[Interval]) -> tuple[Swing, ...]:
    """Return each input's swing, the largest first; equal ones stay in their order."""
    found = (
        Swing(words=one.words, at_low=going_on(plan=one.low), at_high=going_on(plan=one.high)) for one in intervals
    )
    return tuple(sorted(found, key=lambda swing: -swing.swing))
