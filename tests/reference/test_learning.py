"""What finished cases say of a chance, and how good forecasts were."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.formulas import learning

PLACES = 5e-9  # the intervals are floats, good to nine digits


class TestUpdatingAChance:
    """Gelman et al., Bayesian Data Analysis, ch. 2: 437 of 980 from an even start (published)."""

    def test_mean_and_interval(self):
        found = learning.updated(healed=437, of=980)

        assert found.mean == Fraction(438, 982)
        assert abs(float(found.mean) - 0.44602851) < PLACES
        assert abs(found.low - 0.41506549) < PLACES
        assert abs(found.high - 0.47719977) < PLACES

    def test_a_starting_belief_counts_as_its_cases(self):
        assert learning.updated(healed=5, of=9, start=(1 + 29, 1 + 2)).mean == Fraction(35, 42)

    def test_no_case_is_no_data(self):
        assert learning.updated(healed=0, of=0) is None

    def test_more_healed_than_there_were(self):
        with pytest.raises(learning.ImpossibleCount, match="No more can have healed"):
            learning.updated(healed=2, of=1)


@pytest.mark.parametrize(
    ("healed", "of", "wilson", "exact"),
    [(81, 263, (0.2553, 0.3662), (0.2527, 0.3676)), (0, 20, (0, 0.1611), (0, 0.1684))],
)
def test_the_interval_of_a_rate(healed, of, wilson, exact):
    """Newcombe 1998, Statistics in Medicine 17:857, at 95 % (published; the exact 0 of 20 recomputed)."""
    score, tail = learning.wilson(healed=healed, of=of), learning.exact(healed=healed, of=of)

    assert (round(score.low, 4), round(score.high, 4)) == wilson
    assert (round(tail.low, 4), round(tail.high, 4)) == exact


def test_no_data_is_never_zero_in_a_hundred():
    assert learning.wilson(healed=0, of=0) is None
    assert learning.exact(healed=0, of=0) is None
    assert learning.score(forecasts=[]) is None


def test_all_healed_leaves_room_below_and_none_above():
    score, tail = learning.wilson(healed=20, of=20), learning.exact(healed=20, of=20)

    assert (score.high, tail.high) == (1, 1)
    assert round(score.low, 4) == round(1 - 0.1611, 4)


def test_the_score_of_forecasts():
    """Forecasts .27, .67, .83, .90 with outcomes 1, 1, 0, 1 (published)."""
    said = [Fraction(part, 100) for part in (27, 67, 83, 90)]

    assert learning.score(forecasts=list(zip(said, (True, True, False, True), strict=True))) == Fraction(335175, 10**6)


@given(st.lists(st.booleans(), min_size=1, max_size=12), st.randoms())
def test_the_order_of_past_results_changes_nothing(results, dice):
    """Updating case by case, in any order, ends where updating at once does."""
    shuffled = list(results)
    dice.shuffle(shuffled)
    yes, no = learning.EVEN
    for healed in shuffled[:-1]:
        yes, no = yes + healed, no + (not healed)
    last = learning.updated(healed=int(shuffled[-1]), of=1, start=(yes, no))

    at_once = learning.updated(healed=sum(results), of=len(results))

    assert (last.mean, last.low, last.high) == (at_once.mean, at_once.low, at_once.high)


@given(st.integers(1, 60).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_an_interval_holds_its_middle(counts):
    healed, of = counts
    for found in (learning.wilson(healed=healed, of=of), learning.exact(healed=healed, of=of)):
        assert 0 <= found.low <= found.rate <= found.high <= 1
    belief = learning.updated(healed=healed, of=of)
    assert 0 < belief.low < belief.mean < belief.high < 1
