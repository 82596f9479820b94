"""What one rule promises for a staged path: its mean, its spread and the chance that the part is kept."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from clinic.formulas import staged_path
from clinic.formulas.staged_path import Outcome, Plan


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A cost and a number of days that belong together, and their chance."""

    cost: Fraction
    days: Fraction
    chance: Fraction


@dataclass(frozen=True, kw_only=True)
class Prospect:
    """A rule, "make at most so many operations, then convert", with all that may come of it."""

    operations: int
    outcomes: tuple[Outcome, ...]
    expected_cost: Fraction
    expected_days: Fraction
    operations_mean: Fraction
    operations_variance: Fraction
    chance_kept: Fraction
    distribution: tuple[Pair, ...]


@dataclass(frozen=True, kw_only=True)
class ConvertNow:
    """The single procedure at once, its complication counted at its chance."""

    expected_cost: Fraction
    expected_days: Fraction


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """A plan's three answers side by side, and every rule that stands to choose."""

    going_on: Prospect
    all_operations: Prospect
    convert_now: ConvertNow
    worth_trying: tuple[bool, ...]
    rules: tuple[Prospect, ...]


def compare(*, plan: Plan) -> Comparison:
    """Return going on by the best rule, making all operations, and converting now.

    >>> from clinic.formulas.staged_path import Operation, Single, Step
    >>> plan = Plan(operations=(Operation(cost=Fraction(1200), success=Fraction(3, 5)),
    ...                         Operation(cost=Fraction(1500), success=Fraction(9, 20))),
    ...             after_success=Step(), fallback=Step(cost=Fraction(2600)),
    ...             single=Single(cost=Fraction(2600)))
    >>> answer = compare(plan=plan)
    >>> print(answer.going_on.operations, answer.going_on.expected_cost, answer.going_on.chance_kept)
    1 2240 3/5
    >>> print(answer.all_operations.expected_cost, answer.all_operations.chance_kept)
    2372 39/50
    """
    answers = staged_path.worth_trying(plan=plan)
    rules = tuple(prospect(plan=plan, operations=count) for count in range(1, len(plan.operations) + 1))
    return Comparison(
        going_on=rules[staged_path.best_stop(answers=answers) - 1],
        all_operations=rules[-1],
        convert_now=ConvertNow(
            expected_cost=staged_path.full_cost(step=plan.single, daily_cost=plan.daily_cost),
            expected_days=plan.single.days,
        ),
        worth_trying=answers,
        rules=rules,
    )


def prospect(*, plan: Plan, operations: int) -> Prospect:
    """Return what comes of making at most `operations` of the plan's operations and then converting.

    Stop at the first success, at most 3 tries at even chances: 1, 2 or 3 tries, 1.75 on average.

    >>> from clinic.formulas.staged_path import Operation, Single, Step
    >>> coin = Operation(cost=Fraction(1), success=Fraction(1, 2))
    >>> three = prospect(plan=Plan(operations=(coin,) * 3, after_success=Step(), fallback=Step(),
    ...                            single=Single()), operations=3)
    >>> print(three.operations_mean, three.operations_variance, 1 - three.chance_kept)
    7/4 11/16 1/8
    """
    ways = staged_path.outcomes(plan=plan, operations=operations)
    mean = sum((way.chance * way.operations for way in ways), Fraction(0))
    square = sum((way.chance * way.operations**2 for way in ways), Fraction(0))
    return Prospect(
        operations=operations,
        outcomes=ways,
        expected_cost=sum((way.chance * way.cost for way in ways), Fraction(0)),
        expected_days=sum((way.chance * way.days for way in ways), Fraction(0)),
        operations_mean=mean,
        operations_variance=square - mean**2,
        chance_kept=sum((way.chance for way in ways if way.healed), Fraction(0)),
        distribution=_distribution(ways),
    )


def _distribution(ways: tuple[Outcome, ...]) -> tuple[Pair, ...]:
    chances: dict[tuple[Fraction, Fraction], Fraction] = {}
    for way in ways:
        at = (way.cost, way.days)
        chances[at] = chances.get(at, Fraction(0)) + way.chance
    return tuple(Pair(cost=cost, days=days, chance=chances[cost, days]) for cost, days in sorted(chances))


def cost_reached(*, distribution: tuple[Pair, ...], in_100: int) -> Fraction:
    """Return the smallest cost at or under which at least `in_100` of 100 such cases end.

    >>> pair = [Pair(cost=Fraction(c), days=Fraction(0), chance=Fraction(p, 100))
    ...         for c, p in ((1200, 60), (2700, 18), (5300, 22))]
    >>> [int(cost_reached(distribution=tuple(pair), in_100=q)) for q in (10, 50, 60, 61, 90)]
    [1200, 1200, 1200, 2700, 5300]
    """
    wanted = Fraction(in_100, 100)
    cumulated = accumulate(pair.chance for pair in distribution)
    return next(pair.cost for pair, reached in zip(distribution, cumulated, strict=True) if reached >= wanted)
