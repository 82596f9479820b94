"""The staged path against a seeded simulation, and the promises that no plan may break."""

from dataclasses import replace
from fractions import Fraction
from math import sqrt
from random import Random

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.formulas import sensitivity
from clinic.formulas.staged_path import Operation, Plan, Single, Step
from clinic.formulas.staged_path_prospect import compare
from tests.reference.test_staged_path import plan_of, plans

PLANS, CASES, ERRORS = 200, 4000, 4


def random_plan(dice: Random) -> Plan:
    def step(kind=Step, **more):
        return kind(cost=Fraction(dice.randrange(0, 300_000), 100), days=Fraction(dice.randrange(0, 40)), **more)

    return Plan(
        operations=tuple(
            step(Operation, success=Fraction(dice.randrange(0, 101), 100)) for _ in range(dice.randrange(1, 8))
        ),
        after_success=step(),
        fallback=step(),
        single=step(Single),
        daily_cost=Fraction(dice.randrange(0, 6000), 100),
    )


def simulated(plan: Plan, most: int, cases: int, seed: int):
    """Return the cost and the days of each of many cases, operation by operation."""
    dice = numpy.random.default_rng(seed)
    cost, days, going = numpy.zeros(cases), numpy.zeros(cases), numpy.ones(cases, dtype=bool)
    for operation in plan.operations[:most]:
        cost += going * float(operation.cost)
        days += going * float(operation.days)
        healed = going & (dice.random(cases) < float(operation.success))
        cost += healed * float(plan.after_success.cost)
        days += healed * float(plan.after_success.days)
        going &= ~healed
    cost += going * float(plan.fallback.cost)
    days += going * float(plan.fallback.days)
    return cost + days * float(plan.daily_cost), days, going


def close(values, mean: Fraction, variance: Fraction) -> bool:
    """Say whether the mean of what was simulated lies within so many standard errors of the exact one."""
    return abs(values.mean() - float(mean)) <= ERRORS * sqrt(variance / len(values)) + 1e-6


@pytest.mark.random
def test_a_simulation_agrees_within_four_standard_errors():
    """Cost, days and chance of every rule of 200 random plans; the seed is fixed, so it agrees once and for all."""
    dice = Random(20261014)
    off = []
    for number in range(PLANS):
        plan = random_plan(dice)
        for rule in compare(plan=plan).rules[-1:]:
            cost, days, unhealed = simulated(plan, rule.operations, CASES, number)

            def variance(of, rule=rule):
                mean = sum(of(way) * way.chance for way in rule.outcomes)
                return sum((of(way) - mean) ** 2 * way.chance for way in rule.outcomes)

            kept = rule.chance_kept
            agrees = (
                close(cost, rule.expected_cost, variance(lambda way: way.cost)),
                close(days, rule.expected_days, variance(lambda way: way.days)),
                close(~unhealed, kept, kept * (1 - kept)),
            )
            off += [] if all(agrees) else [(number, agrees)]
    assert off == []


@given(plans)
def test_the_mean_of_the_distribution_is_the_expected_cost(plan):
    for rule in compare(plan=plan).rules:
        assert sum(pair.chance for pair in rule.distribution) == 1
        assert sum(pair.cost * pair.chance for pair in rule.distribution) == rule.expected_cost
        assert sum(pair.days * pair.chance for pair in rule.distribution) == rule.expected_days


@given(plans, st.integers(0, 4), st.integers(0, 20))
def test_a_better_chance_never_raises_the_cost_of_the_best_rule(plan, place, part):
    """Where what follows success costs no more than the fallback and the single procedure."""
    cheapest = Step()
    plan = replace(plan, after_success=cheapest)
    place %= len(plan.operations)
    chance = plan.operations[place].success
    better = sensitivity.with_chance(plan=plan, operation=place, chance=chance + (1 - chance) * Fraction(part, 20))

    def best(of):
        answer = compare(plan=of)
        return min(answer.going_on.expected_cost, answer.convert_now.expected_cost)

    assert best(better) <= best(plan)
    assert sensitivity.going_on(plan=better) <= sensitivity.going_on(plan=plan)


@given(plans)
def test_what_sensitivity_computes_is_the_best_rule_of_the_comparison(plan):
    assert sensitivity.going_on(plan=plan) == compare(plan=plan).going_on.expected_cost


class TestSensitivity:
    """Each input over its own interval, the largest swing first (recomputed by hand)."""

    plan = plan_of(operations=[(1200, "0.60"), (1500, "0.45")], fallback=2600, single=2600)

    def interval(self, words, operation, low, high):
        plans = (
            sensitivity.with_chance(plan=self.plan, operation=operation, chance=Fraction(chance))
            for chance in (low, high)
        )
        return sensitivity.Interval(words=words, low=next(plans), high=next(plans))

    def test_is_ordered_by_swing(self):
        found = sensitivity.swings(
            intervals=[self.interval("second", 1, "0.40", "0.70"), self.interval("first", 0, "0.50", "0.70")]
        )

        # first: 1200 + q * 2600 (the second is not worth trying at .45); second at .70: 1500 + .3 * 2600 = 2280 < 2600
        assert [(one.words, one.at_low, one.at_high, one.swing) for one in found] == [
            ("first", 2500, 1980, 520),
            ("second", 2240, 2112, 128),
        ]

    def test_an_input_without_width_moves_nothing(self):
        (still,) = sensitivity.swings(intervals=[self.interval("first", 0, "0.60", "0.60")])

        assert still.swing == 0

    def test_days_bring_their_price(self):
        longer = sensitivity.with_days(plan=self.plan, operation=0, days=Fraction(10), daily=Fraction(36))

        assert sensitivity.going_on(plan=longer) == 2240 + 360
        assert compare(plan=longer).going_on.expected_days == 10
