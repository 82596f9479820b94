"""Chains with ends, and a cohort over the years."""

from fractions import Fraction

import pytest
from hypothesis import given

from clinic.formulas import chains, staged_path_chain
from clinic.formulas.staged_path_prospect import compare
from tests.reference.test_staged_path import plans

HALF = Fraction(1, 2)


def walk(right):
    """The walk on 0..4, seen from 1, 2 and 3; the ends are 0 and 4."""
    left = 1 - right
    moves = ((0, right, 0), (left, 0, right), (0, left, 0))
    return moves, ((left, 0), (0, 0), (0, right))


class TestTheDrunkardsWalk:
    """Grinstead & Snell, Introduction to Probability, section 11.2 (published)."""

    def test_at_even_chances(self):
        moves, out = walk(HALF)

        assert chains.visits(moves=moves) == (
            (Fraction(3, 2), 1, HALF),
            (1, 2, 1),
            (HALF, 1, Fraction(3, 2)),
        )
        assert chains.steps_to_the_end(moves=moves) == (3, 4, 3)
        assert chains.ends(moves=moves, out=out) == (
            (Fraction(3, 4), Fraction(1, 4)),
            (HALF, HALF),
            (Fraction(1, 4), Fraction(3, 4)),
        )

    def test_two_thirds_to_the_right(self):
        moves, out = walk(Fraction(2, 3))

        assert [float(steps) for steps in chains.steps_to_the_end(moves=moves)] == [3.4, 3.6, 2.2]
        assert [round(float(chance), 6) for chance in chains.ends(moves=moves, out=out)[0]] == [0.466667, 0.533333]

    def test_a_chain_without_an_end_has_no_mean(self):
        with pytest.raises(chains.NeverEnds):
            chains.visits(moves=((0, 1), (1, 0)))

    def test_a_chance_beyond_one_is_refused(self):
        with pytest.raises(chains.RowsDiffer):
            chains.visits(moves=((2,),))


def test_a_cohort_over_twenty_years_discounted():
    """Chancellor et al. 1997 as reworked in Briggs, Claxton & Sculpher, exercise 2.5 (second hand)."""

    def row(*counts):
        return tuple(Fraction(count, sum(counts)) for count in counts)

    moves = (row(1251, 350, 116, 17), (0, *row(731, 512, 15)), (0, 0, *row(1312, 437)), (0, 0, 0, 1))
    drug = 2278

    paid = chains.cohort_cost(
        start=(1, 0, 0, 0),
        moves=moves,
        costs=(2756 + drug, 3052 + drug, 9007 + drug, 0),
        cycles=20,
        rate=Fraction(6, 100),
    )

    assert round(float(paid), 7) == 44663.4535637


@given(plans)
def test_the_path_is_such_a_chain(plan):
    """The staged path's short sums and the inverted matrix give the same chances, tries and costs."""
    for rule in compare(plan=plan).rules:
        moves = staged_path_chain.moves(plan=plan, operations=rule.operations)
        out = staged_path_chain.ends(plan=plan, operations=rule.operations)

        assert chains.ends(moves=moves, out=out)[0] == (rule.chance_kept, 1 - rule.chance_kept)
        assert chains.steps_to_the_end(moves=moves)[0] == rule.operations_mean
        assert (
            staged_path_chain.discounted_cost(plan=plan, operations=rule.operations, rate=Fraction(0))
            == rule.expected_cost
        )
        assert (
            staged_path_chain.discounted_cost(plan=plan, operations=rule.operations, rate=Fraction(1, 20))
            <= rule.expected_cost
        )
