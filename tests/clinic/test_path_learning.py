"""What the clinic's own finished operations say on a path's page, and expected against actual afterwards."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import path_results, paths
from clinic.models import PathStep
from clinic.queries import finished_paths, path_learning
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.clinic.test_path_pages import words
from tests.clinic.test_paths import PARTED, decide, grafts, operation, operations_of, page, plan, result  # noqa: F401

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic(settings):
    settings.AS_OF = TODAY.isoformat()
    return make.open_clinic(percent=None)


@pytest.fixture
def planned(clinic, grafts):  # noqa: F811
    return plan(clinic, grafts, clinic.admit().animal)


def finish(clinic, grafts, *, healed, ending=None, species="dog", service="skin-graft", on=DAY, chance="0.60"):  # noqa: F811
    """One more animal whose path came to its end with one operation."""
    number = PathStep.objects.count()
    stay = clinic.admit(f"Case {number}", species=species)
    made = plan(clinic, grafts, stay.animal, operations=[operation(grafts[service], chance)])
    decide(clinic, made, "staged")
    if healed is not None:
        result(clinic, operations_of(made)[0], "healed" if healed else "not_healed", on=on)
    ending = ending or ("healed" if healed else "converted")
    return path_results.end(path=made, ending=ending, on=on, by=clinic.vet, today=TODAY, at=AT)


class TestOwnCases:
    def test_without_one_there_is_no_data_and_no_number(self, planned):
        (skin, _) = page(planned).learned

        assert (skin.has_data, skin.in_100) == (False, "")

    def test_five_of_this_operation_and_species_speak_for_themselves(self, clinic, grafts, planned):  # noqa: F811
        for healed in (True, True, False, True, False):
            finish(clinic, grafts, healed=healed)
        finish(clinic, grafts, healed=False, species="cat")

        (skin, _) = page(planned).learned

        assert (skin.healed, skin.of, skin.scope) == (3, 5, "this operation, species dog")
        assert (skin.in_100, skin.low_in_100, skin.high_in_100) == ("57", 22, 88)  # Beta(4, 3)

    def test_too_few_are_pooled_and_the_page_says_so(self, clinic, grafts, planned):  # noqa: F811
        for species in ("dog", "dog", "cat", "cat", "rabbit"):
            finish(clinic, grafts, healed=True, species=species)

        skin, patch = page(planned).learned

        assert (skin.of, skin.scope) == (5, "this operation, all species")
        assert (patch.of, patch.scope) == (5, "all operations of staged paths, all species")

    def test_dying_is_no_result(self, clinic, grafts, planned):  # noqa: F811
        finish(clinic, grafts, healed=None, ending="died")

        assert not page(planned).learned[0].has_data
        assert page(planned).healing.endings == (("died", 1),)

    def test_a_published_series_is_a_starting_belief_with_its_n(self, clinic, grafts):  # noqa: F811
        series = operation(grafts["skin-graft"], "0.935484")
        series = series.__class__(
            **{**series.__dict__, "chance_source": "series", "chance_n": 31, "chance_words": "Prpich 2014"}
        )
        planned = plan(clinic, grafts, clinic.admit().animal, operations=[series])
        for healed in (True, True, False, True, False):
            finish(clinic, grafts, healed=healed)

        (skin,) = page(planned).learned

        assert skin.with_series == "87"  # (1 + 29 + 3) / (2 + 31 + 5)
        assert page(planned).operations[0].source == "a published series; from 31 cases; Prpich 2014"

    def test_days_to_healing_count_the_open_ones_as_open(self, clinic, grafts):  # noqa: F811
        for days, healed in ((0, True), (1, True), (2, True)):
            finish(clinic, grafts, healed=healed, on=PARTED + timedelta(days=days))
        finish(clinic, grafts, healed=None, ending="withdrawn", on=PARTED)
        decide(clinic, plan(clinic, grafts, clinic.admit("Still here").animal), "staged")

        found = path_learning.healing_days(species="dog", on=TODAY)

        # at risk 5, 3, 2: S = 4/5, then 8/15, then 4/15 <= 1/2 on day 2
        assert (found.cases, found.open, found.median) == (5, 2, 2)
        assert found.endings == (("healed", 3), ("withdrawn by the owner", 1), ("still open", 1))

    def test_nobody_healed_yet_is_told_so(self, clinic, grafts):  # noqa: F811
        finish(clinic, grafts, healed=False)

        assert path_learning.healing_days(species="dog", on=TODAY).median is None


class TestWhatMovesTheAnswer:
    @pytest.fixture
    def ranged(self, clinic, grafts):  # noqa: F811
        skin = operation(
            grafts["skin-graft"],
            "0.60",
            days=20,
            level=clinic.standard,
            days_low=10,
            days_high=30,
            chance_low=Decimal("0.5"),
            chance_high=Decimal("0.7"),
        )
        return plan(clinic, grafts, clinic.admit().animal, operations=[skin, operation(grafts["patch-graft"], "0.45")])

    def test_each_input_over_its_own_interval_the_largest_first(self, ranged):
        found = page(ranged).sensitivity

        # 1,200 + 20 x 24.00 = 1,680; then q x 2,600. Chance .5 to .7: 2,980 to 2,460. Days 10 to 30: 2,480 to 2,960.
        assert [
            (line.words, line.interval, line.low_minor, line.high_minor, line.swing_minor) for line in found.lines
        ] == [
            ("Success of the skin graft", "50 to 70 of 100", 298_000, 246_000, 52_000),
            ("Days of the skin graft", "10 to 30 days", 248_000, 296_000, 48_000),
        ]

    def test_a_chance_without_a_range_is_named(self, ranged):
        assert page(ranged).sensitivity.silent == ("Patch graft",)

    @pytest.mark.parametrize(
        "said",
        [
            {"chance_low": Decimal("0.5")},
            {"chance_low": Decimal("0.7"), "chance_high": Decimal("0.9")},
            {"chance_low": Decimal("0.5"), "chance_high": Decimal("1.2")},
            {"days_low": 3, "days_high": 9},
        ],
    )
    def test_a_range_holds_its_figure(self, clinic, grafts, said):  # noqa: F811
        with pytest.raises(paths.RangeImpossible), transaction.atomic():
            plan(clinic, grafts, clinic.admit().animal, operations=[operation(grafts["skin-graft"], "0.60", **said)])

    def test_the_database_keeps_a_range_around_its_figure(self, ranged):
        for wrong in ({"chance_low": Decimal("0.65")}, {"chance_high": None}, {"days_high": 15}):
            with pytest.raises(IntegrityError), transaction.atomic():
                PathStep.objects.filter(pk=operations_of(ranged)[0].pk).update(**wrong)


class TestFinishedPaths:
    def test_expected_stands_beside_actual(self, clinic, grafts):  # noqa: F811
        done = finish(clinic, grafts, healed=True)
        clinic.see_all()
        clinic.sign()

        (line,) = finished_paths.finished_paths().lines

        assert line.path_id == done.pk
        assert (line.expected_minor, line.kept_in_100, line.expected_days) == (224_000, "60", "0")
        assert (line.asked_minor, line.apart_minor, line.is_dearer) == (2_400, 221_600, False)
        assert (line.ending, line.operations, line.days) == ("healed", "1 of 1 made, 1 healed", 4)

    def test_forecasts_are_judged_from_twenty_on(self, clinic, grafts):  # noqa: F811
        for number in range(19):
            finish(clinic, grafts, healed=number % 2 == 0)
        before = finished_paths.finished_paths().forecasts

        finish(clinic, grafts, healed=False)
        after = finished_paths.finished_paths().forecasts

        assert (before.score, before.missing) == ("", 1)
        # .60 said twenty times, ten healed: 10 x .16 + 10 x .36 over 20
        assert (after.operations, after.healed, after.said_in_100, after.happened_in_100) == (20, 10, "60", "50")
        assert (after.score, after.missing) == ("0.26", 0)

    def test_a_replaced_plan_is_no_finished_path(self, clinic, grafts, planned):  # noqa: F811
        decide(clinic, planned, "staged")
        plan(clinic, grafts, planned.animal, on=TODAY)

        assert finished_paths.finished_paths().lines == ()


class TestThePages:
    def test_the_words_of_the_trade_are_not_there(self, client, clinic, grafts, planned):  # noqa: F811
        for healed in (True, True, False, True, False):
            finish(clinic, grafts, healed=healed)
        client.force_login(clinic.reader)

        read = " ".join(
            words(client.get(address)).lower()
            for address in (reverse("clinic:path", args=[planned.pk]), reverse("clinic:finished_paths"))
        )

        assert "3 of 5 healed: about 57 of 100, 22 to 88 would surprise nobody" in read
        assert (
            "5 operations with a forecast are finished, 3 healed. forecasts are judged from 20 on; 15 more to go."
            in read
        )
        for word in ("percentile", "beta", "brier", "advice", "attempt", "failed"):
            assert word not in read

    def test_the_first_day_has_its_next_step(self, client, clinic):
        client.force_login(clinic.vet)

        read = words(client.get(reverse("clinic:finished_paths")))

        assert "No path has ended yet." in read
        assert "No data: no operation of a path is finished yet." in read
