"""A staged path written as a chain of its operations, and what it costs when later money counts for less."""

from __future__ import annotations

from fractions import Fraction

from clinic.formulas import chains
from clinic.formulas.staged_path import ImpossiblePlan, Plan, full_cost

ZERO, ONE = Fraction(0), Fraction(1)


def moves(*, plan: Plan, operations: int) -> chains.Matrix:
    """Return the chances of going from each operation to the next one, if at most `operations` are made."""
    tried = plan.operations[:operations]
    return tuple(
        tuple(1 - one.success if to == at + 1 else ZERO for to in range(len(tried))) for at, one in enumerate(tried)
    )


def ends(*, plan: Plan, operations: int) -> tuple[tuple[Fraction, Fraction], ...]:
    """Return, from each operation, the chances of going at once to "healed" and to the fallback."""
    tried = plan.operations[:operations]
    return tuple((one.success, ZERO if n < len(tried) else 1 - one.success) for n, one in enumerate(tried, start=1))


def discounted_cost(*, plan: Plan, operations: int, rate: Fraction) -> Fraction:
    """Return the expected cost if each operation and each ending counts 1 / (1 + rate) of the one before it.

    What is done now counts in full; without a rate this is the expected cost itself.

    >>> from clinic.formulas.staged_path import Operation, Single, Step
    >>> plan = Plan(operations=(Operation(cost=Fraction(1200), success=Fraction(3, 5)),), after_success=Step(),
    ...             fallback=Step(cost=Fraction(2600)), single=Single(cost=Fraction(2600)))
    >>> discounted_cost(plan=plan, operations=1, rate=Fraction(0))
    Fraction(2240, 1)
    >>> discounted_cost(plan=plan, operations=1, rate=Fraction(4, 100))
    Fraction(2200, 1)

    :raises ImpossiblePlan: when the plan does not have that many operations, or the rate is below zero.
    """
    if not 1 <= operations <= len(plan.operations) or rate < 0:
        raise ImpossiblePlan("The plan does not have that many operations, or the rate lies below zero.")
    states = operations + 3  # the operations, what follows success, the fallback, and the end
    going = moves(plan=plan, operations=operations)
    out = ends(plan=plan, operations=operations)
    rows = [(*going[n], *out[n], ZERO) for n in range(operations)]
    rows += [(ZERO,) * (states - 1) + (ONE,)] * 3
    costs = [full_cost(step=one, daily_cost=plan.daily_cost) for one in plan.operations[:operations]]
    costs += [full_cost(step=step, daily_cost=plan.daily_cost) for step in (plan.after_success, plan.fallback)]
    first = (ONE, *(ZERO,) * (states - 1))
    later = chains.cohort_cost(start=first, moves=rows, costs=(*costs, ZERO), cycles=states, rate=rate)
    return costs[0] + later
