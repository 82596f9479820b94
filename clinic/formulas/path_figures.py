"""A path's figures as a person reads and a decision keeps them: rounded once, in minor units.

What a decision keeps is plain data (whole numbers and words), so that it can be read for ever; chances are
kept as fractions in words ("3/5"), days too.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from clinic.formulas import break_even, staged_path_prospect
from clinic.formulas.running_costs import FrozenSingle
from clinic.formulas.staged_path import Plan
from clinic.formulas.staged_path_prospect import Prospect
from ledger.formulas import money


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way in which a rule may end."""

    operations: int
    healed: bool
    cost_minor: int
    days: Fraction
    chance: Fraction


@dataclass(frozen=True, kw_only=True)
class Rule:
    """Make at most so many further operations, then convert."""

    operations: int
    ways: tuple[Way, ...]
    expected_minor: int
    days: Fraction
    kept: Fraction
    low_minor: int  # 1 in 10 end at or under this
    half_minor: int
    high_minor: int  # 9 in 10 end at or under this
    less_minor: int  # on average less than converting now; below zero when it is more


@dataclass(frozen=True, kw_only=True)
class Figures:
    """What can be said about going on and about converting now."""

    rules: tuple[Rule, ...]
    best: int  # how many operations the cheapest rule makes
    worth_trying: tuple[bool, ...]
    convert_minor: int
    convert_days: Fraction
    even: Fraction | None

    @property
    def going_on(self) -> Rule:
        return self.rules[self.best - 1]

    @property
    def all_operations(self) -> Rule:
        return self.rules[-1]


def figures(*, plan: Plan) -> Figures:
    """Return the figures of a plan whose costs are in minor units.

    >>> from clinic.formulas.staged_path import Operation, Single, Step
    >>> price = [(120000, 60), (150000, 45)]
    >>> plan = Plan(operations=tuple(Operation(cost=Fraction(c), success=Fraction(p, 100)) for c, p in price),
    ...     after_success=Step(), fallback=Step(cost=Fraction(260000)), single=Single(cost=Fraction(260000)))
    >>> found = figures(plan=plan)
    >>> [(rule.expected_minor, rule.less_minor, str(rule.kept)) for rule in found.rules]
    [(224000, 36000, '3/5'), (237200, 22800, '39/50')]
    """
    answer = staged_path_prospect.compare(plan=plan)
    convert = money.half_up(answer.convert_now.expected_cost)
    return Figures(
        rules=tuple(_rule(of, convert) for of in answer.rules),
        best=answer.going_on.operations,
        worth_trying=answer.worth_trying,
        convert_minor=convert,
        convert_days=answer.convert_now.expected_days,
        even=break_even.break_even(plan=plan),
    )


def _rule(of: Prospect, convert_minor: int) -> Rule:
    low, half, high = (
        money.half_up(staged_path_prospect.cost_reached(distribution=of.distribution, in_100=in_100))
        for in_100 in (10, 50, 90)
    )
    expected = money.half_up(of.expected_cost)
    return Rule(
        operations=of.operations,
        ways=tuple(
            Way(
                operations=way.operations,
                healed=way.healed,
                cost_minor=money.half_up(way.cost),
                days=way.days,
                chance=way.chance,
            )
            for way in of.outcomes
        ),
        expected_minor=expected,
        days=of.expected_days,
        kept=of.chance_kept,
        low_minor=low,
        half_minor=half,
        high_minor=high,
        less_minor=convert_minor - expected,
    )


def keep(*, found: Figures | None, single: FrozenSingle, currency: str, operations: list[str]) -> dict[str, Any]:
    """Return what a decision keeps of the figures; `found` is None where no operation is left."""
    kept: dict[str, Any] = {
        "currency": currency,
        "operations": operations,
        "single": {
            "procedure": str(single.procedure_minor),
            "daily": str(single.daily_minor),
            "days": single.days,
            "complication": str(single.complication_minor),
        },
    }
    if found:
        kept["go_on"] = _kept_rule(found.going_on)
        kept["all_operations"] = _kept_rule(found.all_operations)
        kept["convert"] = {"expected_minor": found.convert_minor, "days": str(found.convert_days)}
        kept["even"] = None if found.even is None else str(found.even.limit_denominator(10**9))
    return kept


def _kept_rule(rule: Rule) -> dict[str, Any]:
    return {"expected_minor": rule.expected_minor, "days": str(rule.days), "kept": str(rule.kept)}


def kept_single(*, kept: dict[str, Any]) -> FrozenSingle:
    """Read the single procedure back from what a decision keeps.

    >>> single = FrozenSingle(procedure_minor=Fraction(150000), daily_minor=Fraction(10801, 3), days=12)
    >>> kept_single(kept=keep(found=None, single=single, currency="USD", operations=[])) == single
    True
    """
    single = kept["single"]
    return FrozenSingle(
        procedure_minor=Fraction(single["procedure"]),
        daily_minor=Fraction(single["daily"]),
        days=single["days"],
        complication_minor=Fraction(single["complication"]),
    )
