"""Staged attempts against a single procedure: outside figures, and a second computation by enumeration."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.formulas.break_even import break_even
from clinic.formulas.staged_path import ImpossiblePlan, Operation, Plan, Single, Step
from clinic.formulas.staged_path_prospect import compare, cost_reached, prospect


def plan_of(*, operations, fallback=0, single=0, after=0, daily_cost=0):
    """A plan from (cost, chance, days) rows and plain numbers."""
    rows = tuple((*row, 0)[:3] for row in operations)
    return Plan(
        operations=tuple(
            Operation(cost=Fraction(cost), success=Fraction(chance), days=Fraction(days)) for cost, chance, days in rows
        ),
        after_success=Step(cost=Fraction(after)),
        fallback=Step(cost=Fraction(fallback)),
        single=Single(cost=Fraction(single)),
        daily_cost=Fraction(daily_cost),
    )


class TestStopAtTheFirstSuccess:
    """Truncated geometric distribution, p = 1/2, at most 3 tries (published)."""

    def test_one_two_or_three_tries(self):
        three = prospect(plan=plan_of(operations=[(1, "1/2")] * 3), operations=3)

        tries = {}
        for way in three.outcomes:
            tries[way.operations] = tries.get(way.operations, 0) + way.chance
        assert tries == {1: Fraction(1, 2), 2: Fraction(1, 4), 3: Fraction(1, 4)}
        assert three.operations_mean == Fraction(7, 4)
        assert round(float(three.operations_variance) ** 0.5, 4) == 0.8292
        assert 1 - three.chance_kept == Fraction(1, 8)


class TestBreakEven:
    """E(n) = c (1 - q^n) / p + F q^n against D (algebra, recomputed)."""

    @pytest.mark.parametrize("tries", [1, 2, 3, 7, 12])
    def test_is_cost_over_single_where_the_fallback_costs_the_same(self, tries):
        plan = plan_of(operations=[(1800, "1/2")] * tries, fallback=2500, single=2500)

        assert break_even(plan=plan) == Fraction(18, 25)

    @pytest.mark.parametrize(("tries", "chance"), [(1, 0.774194), (2, 0.733462), (3, 0.723741)])
    def test_falls_with_every_further_try_where_the_fallback_costs_more(self, tries, chance):
        plan = plan_of(operations=[(1800, "1/2")] * tries, fallback=3100, single=2500)

        assert round(float(break_even(plan=plan)), 6) == chance

    def test_there_is_none_where_an_operation_costs_more_than_the_single_procedure(self):
        assert break_even(plan=plan_of(operations=[(2501, 1)], fallback=2500, single=2500)) is None

    def test_there_is_none_where_an_operation_and_its_aftercare_cost_more(self):
        assert break_even(plan=plan_of(operations=[(1800, 1)], after=701, fallback=2500, single=2500)) is None

    def test_is_certainty_where_they_cost_the_same(self):
        assert break_even(plan=plan_of(operations=[(2500, 1)] * 2, fallback=2500, single=2500)) == 1

    def test_is_zero_where_even_no_success_costs_no_more(self):
        assert break_even(plan=plan_of(operations=[(100, 0)] * 3, fallback=2000, single=2500)) == 0

    def test_counts_days_on_every_path(self):
        # c = 1000 + 20 * 40 = 1800; D = 2500 from 2100 + 10 * 40.
        plan = Plan(
            operations=(Operation(cost=Fraction(1000), success=Fraction(1, 2), days=Fraction(20)),),
            after_success=Step(),
            fallback=Step(cost=Fraction(2100), days=Fraction(10)),
            single=Single(cost=Fraction(2100), days=Fraction(10)),
            daily_cost=Fraction(40),
        )

        assert break_even(plan=plan) == Fraction(18, 25)

    @pytest.mark.parametrize("chance", [0, Fraction(1, 2), 1])
    def test_asks_nothing_of_the_chances_that_the_plan_has(self, chance):
        assert break_even(plan=plan_of(operations=[(1, chance)], fallback=2, single=2)) == Fraction(1, 2)

    def test_no_success_pays_for_all_operations_and_the_fallback(self):
        ahead = prospect(plan=plan_of(operations=[(1800, 0)] * 3, fallback=3100), operations=3)

        assert (ahead.expected_cost, ahead.chance_kept) == (3 * 1800 + 3100, 0)

    def test_certain_success_pays_for_one_operation(self):
        ahead = prospect(plan=plan_of(operations=[(1800, 1)] * 3, fallback=3100), operations=3)

        assert (ahead.expected_cost, ahead.chance_kept, len(ahead.outcomes)) == (1800, 1, 1)


class TestStopRule:
    """Costs 1,200, 1,500, 1,500; chances .60, .45, .25; single procedure 2,600 (recomputed)."""

    plan = plan_of(operations=[(1200, "0.60"), (1500, "0.45"), (1500, "0.25")], fallback=2600, single=2600)

    def test_try_once_then_convert(self):
        answer = compare(plan=self.plan)

        assert answer.worth_trying == (True, False, False)
        assert answer.going_on.expected_cost == 2240
        assert answer.all_operations.expected_cost == 2559
        assert answer.convert_now.expected_cost == 2600

    def test_the_outcomes_as_they_are_told(self):
        two = plan_of(operations=[(1200, "0.60"), (1500, "0.45")], fallback=2600, single=2600)

        one_more, both = compare(plan=two).rules

        assert [(way.cost, way.chance * 100) for way in one_more.outcomes] == [(1200, 60), (3800, 40)]
        assert [(way.cost, way.chance * 100) for way in both.outcomes] == [(1200, 60), (2700, 18), (5300, 22)]
        assert [2600 - rule.expected_cost for rule in (one_more, both)] == [360, 228]
        assert [rule.chance_kept * 100 for rule in (one_more, both)] == [60, 78]


class TestCheapAttemptThenProcedure:
    """Open package rdecision, decision-tree tutorial (inputs published, totals recomputed)."""

    def test_expected_costs(self):
        cheap = prospect(plan=plan_of(operations=[(50, Fraction(12, 68))], fallback=5000), operations=1)
        dear = prospect(plan=plan_of(operations=[(750, Fraction(18, 58))], fallback=5000), operations=1)

        assert round(float(cheap.expected_cost), 3) == 4167.647
        assert round(float(dear.expected_cost), 3) == 4198.276

    def test_the_second_program_costs_the_same_as_the_first_at_this_success(self):
        cheap = prospect(plan=plan_of(operations=[(50, Fraction(12, 68))], fallback=5000), operations=1)

        even = break_even(plan=plan_of(operations=[(750, Fraction(18, 58))], fallback=5000, single=cheap.expected_cost))

        assert round(float(even), 6) == 0.316471


amounts = st.integers(0, 400).map(lambda cents: Fraction(cents, 4))
chances = st.integers(0, 20).map(lambda part: Fraction(part, 20))
steps = st.builds(Step, cost=amounts, days=st.integers(0, 30).map(Fraction))
operations = st.builds(Operation, cost=amounts, days=st.integers(0, 30).map(Fraction), success=chances)
singles = st.builds(
    Single, cost=amounts, days=st.integers(0, 30).map(Fraction), complication=chances, complication_cost=amounts
)
plans = st.builds(
    Plan,
    operations=st.lists(operations, min_size=1, max_size=5).map(tuple),
    after_success=steps,
    fallback=steps,
    single=singles,
    daily_cost=st.integers(0, 8).map(lambda part: Fraction(part, 3)),
)


def enumerated(plan, most):
    """Every way the first `most` operations can turn out, all of them written down, by cost and days."""
    found = {}
    for results in product((True, False), repeat=most):
        chance, cost, days, healed = Fraction(1), Fraction(0), Fraction(0), False
        for operation, heals in zip(plan.operations, results, strict=False):
            chance *= operation.success if heals else 1 - operation.success
            if not healed:
                cost += operation.cost
                days += operation.days
            healed = healed or heals
        last = plan.after_success if healed else plan.fallback
        at = (cost + last.cost + (days + last.days) * plan.daily_cost, days + last.days)
        found[at] = found.get(at, 0) + chance
    return {at: chance for at, chance in found.items() if chance}


@given(plans)
def test_the_chain_equals_the_enumeration_of_every_way(plan):
    for most, rule in enumerate(compare(plan=plan).rules, start=1):
        truth = enumerated(plan, most)

        assert {(pair.cost, pair.days): pair.chance for pair in rule.distribution} == truth
        assert rule.expected_cost == sum(cost * chance for (cost, _), chance in truth.items())
        assert rule.expected_days == sum(days * chance for (_, days), chance in truth.items())


@given(plans)
def test_chances_sum_to_one_in_order_of_cost_then_days(plan):
    for rule in compare(plan=plan).rules:
        assert sum(way.chance for way in rule.outcomes) == 1
        assert sum(pair.chance for pair in rule.distribution) == 1
        pairs = [(pair.cost, pair.days) for pair in rule.distribution]
        assert pairs == sorted(set(pairs))


@given(plans)
def test_going_on_is_the_cheapest_rule_and_the_shortest_of_these(plan):
    answer = compare(plan=plan)

    costs = [rule.expected_cost for rule in answer.rules]
    assert answer.going_on.expected_cost == min(costs)
    shortest = answer.rules[costs.index(min(costs))]
    assert answer.going_on.outcomes == shortest.outcomes  # after a certain success a longer rule is the same one
    assert answer.worth_trying[0] == (answer.going_on.expected_cost < answer.convert_now.expected_cost)


@given(plans)
def test_the_middle_of_the_costs_lies_where_the_chances_say(plan):
    for rule in compare(plan=plan).rules:
        for in_100 in (10, 50, 90):
            reached = cost_reached(distribution=rule.distribution, in_100=in_100)

            assert sum(pair.chance for pair in rule.distribution if pair.cost <= reached) >= Fraction(in_100, 100)
            assert sum(pair.chance for pair in rule.distribution if pair.cost < reached) < Fraction(in_100, 100)


@given(plans, st.integers(1, 19))
def test_from_the_break_even_on_all_operations_never_cost_more(plan, part):
    even = break_even(plan=plan)
    lowest = Fraction(1) if even is None else even

    def more(chance):
        same = tuple(Operation(cost=one.cost, days=one.days, success=chance) for one in plan.operations)
        changed = Plan(
            operations=same,
            after_success=plan.after_success,
            fallback=plan.fallback,
            single=plan.single,
            daily_cost=plan.daily_cost,
        )
        answer = compare(plan=changed)
        return answer.all_operations.expected_cost - answer.convert_now.expected_cost

    if even is None:
        assert more(Fraction(1)) > 0
    else:
        assert more(lowest) <= 0
        assert more(lowest + (1 - lowest) * Fraction(part, 20)) <= 0
    if lowest > 0:
        assert more(lowest * (1 - Fraction(1, 10**9))) > 0


def test_a_break_even_that_the_two_ways_only_touch_is_none_at_all():
    """-(q^2 - 2/9)^2 touches zero at an irrational chance and is below it everywhere else: never more."""
    touching = plan_of(
        operations=[(0, 0), (0, 0), ("4/9", 0), (0, 0)], after=1, fallback=0, single=Fraction(1) + Fraction(4, 81)
    )

    assert break_even(plan=touching) == 0


def test_a_cost_hump_in_the_middle_moves_the_break_even_past_it():
    """Aftercare dearer than the fallback: converting after failures is cheap, success is cheap, the middle is not."""
    hump = plan_of(operations=[(100, 0), (900, 0), (0, 0)], after=1000, fallback=0, single=1200)

    even = break_even(plan=hump)

    assert 0 < even < 1
    q = 1 - even
    assert abs(float(100 + 1000 - 1200 + 900 * q - 1000 * q**3)) < 1e-9


BELOW_ZERO = "A cost and a number of days are never below zero."


@pytest.mark.parametrize(
    ("build", "sentence"),
    [
        (lambda: Operation(cost=Fraction(1), success=Fraction(11, 10)), "A chance lies between 0 and 1."),
        (
            lambda: Operation(cost=Fraction(-1), success=Fraction(1)),
            "A cost and a number of days are never below zero.",
        ),
        (lambda: Single(complication=Fraction(-1)), "A chance lies between 0 and 1."),
        (lambda: Single(complication_cost=Fraction(-1)), BELOW_ZERO),
        (lambda: plan_of(operations=[]), "A staged path needs at least one operation."),
        (lambda: plan_of(operations=[(1, 1)], daily_cost=-1), BELOW_ZERO),
        (
            lambda: prospect(plan=plan_of(operations=[(1, 1)]), operations=2),
            "The plan does not have that many operations.",
        ),
    ],
)
def test_an_impossible_plan_has_no_figures(build, sentence):
    with pytest.raises(ImpossiblePlan) as refused:
        build()

    assert str(refused.value) == sentence
