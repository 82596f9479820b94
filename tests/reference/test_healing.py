"""Wound readings and days to healing, against published figures."""

from datetime import date, timedelta
from fractions import Fraction
from math import pi

import pytest

from clinic.formulas import healing, kaplan_meier

FIRST = date(2026, 8, 20)


def circles(*radii, every=7):
    """Readings of a round wound in millimeters, a week apart."""
    return [
        healing.by_axes(on=FIRST + timedelta(days=every * n), length=2 * r, width=2 * r) for n, r in enumerate(radii)
    ]


def axes(day, length, width):
    return healing.by_axes(on=FIRST + timedelta(days=day), length=length, width=width)


class TestMarginAdvance:
    """Gilman's linear measure (published): on circles it is the change in radius."""

    def test_twenty_to_fourteen_millimeters(self):
        before, after = circles(20, 14, every=1)

        assert healing.advance(before=before, after=after) == pytest.approx(6.0, abs=1e-9)

    def test_is_a_rate_by_day(self):
        before, after = circles(20, 14)

        assert healing.advance(before=before, after=after) == pytest.approx(6 / 7, abs=1e-9)

    def test_a_growing_wound_goes_back_and_has_no_closing_day(self):
        growing = circles(14, 15, 16, 17, 18)

        assert healing.advance(before=growing[0], after=growing[1]) == pytest.approx(-1 / 7, abs=1e-9)
        assert healing.closing(readings=growing) is None

    def test_a_wound_that_grew_since_the_last_reading_has_no_closing_day(self):
        assert healing.closing(readings=circles(20, 18, 16, 14, 15)) is None

    def test_length_by_width_has_the_outline_of_the_ellipse(self):
        """Ramanujan's formula; the ellipse with axes 20 and 10 has 48.442241 around it (recomputed by series)."""
        assert axes(0, 20, 10).perimeter == pytest.approx(48.442241, abs=1e-5)


def test_shape_at_half_the_healing_time():
    """Saiko 2021 (published): at half the healing time a long cut is 50 % closed, a round wound 75 %."""
    cut = [healing.traced(on=FIRST + timedelta(days=day), area=1000 * width) for day, width in ((0, 10), (5, 5))]
    round_one = circles(10, 5)

    assert healing.reduction(first=cut[0].area, last=cut[1].area) == 50
    assert healing.reduction(first=round_one[0].area, last=round_one[1].area) == pytest.approx(75)


def test_the_ellipse():
    """4.2 x 2.8 cm, then 3.1 x 2.0 cm (published): 9.2363 square centimeters, 47.3 % smaller by either product."""
    first, later = axes(0, 42, 28), axes(7, 31, 20)

    assert round(first.area / 100, 4) == 9.2363
    assert round(healing.reduction(first=first.area, last=later.area), 1) == 47.3
    assert round(healing.reduction(first=4.2 * 2.8, last=3.1 * 2.0), 1) == 47.3


@pytest.mark.parametrize(("first", "last", "percent"), [(3.9, 3.1, 20.5), (8.2, 9.0, -9.8)])
def test_percent_reduction(first, last, percent):
    """A teaching trial (published)."""
    assert round(healing.reduction(first=first, last=last), 1) == percent


class TestEarlyResponse:
    """Sheehan 2003, Warriner 2011, human ulcers (published): under 50 % at four weeks warns; more promises nothing."""

    def test_less_than_half_at_four_weeks_warns(self):
        assert healing.slow_at_four_weeks(readings=circles(20, 19, 18, 17, 16)) == pytest.approx(36)

    def test_more_than_half_says_nothing(self):
        assert healing.slow_at_four_weeks(readings=circles(20, 18, 16, 14, 12)) is None

    def test_nothing_before_four_weeks(self):
        assert healing.slow_at_four_weeks(readings=circles(20, 19, 18, 17)) is None


class TestClosing:
    def test_a_round_wound_closes_after_radius_by_pace(self):
        found = healing.closing(readings=circles(20, 18, 16, 14, 12))

        assert found.on == FIRST + timedelta(days=28 + 42)
        assert found.earliest == found.latest == found.on

    def test_there_is_none_before_five_readings(self):
        assert healing.closing(readings=circles(20, 18, 16, 14)) is None

    def test_one_reading_says_no_more_than_its_area(self):
        one = circles(20)

        assert healing.closing(readings=one) is None
        assert one[0].area == pytest.approx(400 * pi)

    def test_the_range_runs_from_the_fastest_to_the_slowest_pace(self):
        found = healing.closing(readings=circles(20, 19, 17, 16, 15))

        assert found.earliest < found.on < found.latest

    def test_a_step_back_in_between_leaves_the_latest_day_open(self):
        found = healing.closing(readings=circles(20, 18, 19, 15, 13))

        assert found.latest is None
        assert found.earliest < found.on


class TestWhatIsNoSeries:
    def test_two_methods(self):
        mixed = [axes(0, 40, 30), healing.traced(on=FIRST + timedelta(days=7), area=800, perimeter=110)]

        with pytest.raises(healing.TwoMethods, match="mix two methods"):
            healing.check(readings=mixed)

    def test_out_of_order(self):
        with pytest.raises(healing.OutOfOrder, match="does not come after"):
            healing.closing(readings=circles(20, 18)[::-1])

    @pytest.mark.parametrize(
        ("build", "sentence"),
        [
            (lambda: axes(0, 0, 0), "A length and a width are above zero."),
            (lambda: axes(0, 10, 20), "The length is the longer of the two."),
            (lambda: healing.traced(on=FIRST, area=0), "An area is above zero."),
            (lambda: healing.traced(on=FIRST, area=1000, perimeter=50), "No outline so short can hold that area."),
        ],
    )
    def test_a_figure_that_is_none(self, build, sentence):
        with pytest.raises(healing.NotAWound, match=sentence):
            build()


class TestKaplanMeier:
    """Freireich, remission under 6-MP, in weeks; a + is a case still open (published)."""

    WEEKS = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"

    def test_the_curve(self):
        found = kaplan_meier.curve(cases=[(int(word.rstrip("+")), "+" not in word) for word in self.WEEKS.split()])

        assert {drop.time: round(float(drop.still), 4) for drop in found.drops} == {
            6: 0.8571,
            7: 0.8067,
            10: 0.7529,
            13: 0.6902,
            16: 0.6275,
            22: 0.5378,
            23: 0.4482,
        }
        assert found.median == 23
        assert (found.cases, found.open) == (21, 12)
        assert found.still_at(5) == 1
        assert found.still_at(9) == found.still_at(7) == Fraction(18, 21) * Fraction(16, 17)

    def test_nobody_yet_is_not_reached(self):
        assert kaplan_meier.curve(cases=[(10, False), (12, False)]).median is None

    def test_a_time_below_zero_is_refused(self):
        with pytest.raises(kaplan_meier.BelowZero):
            kaplan_meier.curve(cases=[(-1, True)])
