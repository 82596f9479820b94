"""Treatment paths: planned from the price list, decided with the figures as they stood, and told on their page."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from clinic.actions import path_decisions, path_results, paths, prices, services
from clinic.forms.path_steps import OperationSaid, SingleSaid, StepSaid
from clinic.models import Change, House, PathDecision, PathStep, TreatmentPath
from clinic.queries import path_list, plan_keys
from clinic.queries import paths as query
from ledger import models as books
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.ledger import make as money

pytestmark = pytest.mark.django_db

PARTED = DAY - timedelta(days=3)


@pytest.fixture
def clinic():
    return make.open_clinic(percent=None)


@pytest.fixture
def grafts(clinic):
    """Two procedures, at 1,200.00 and 1,500.00; the single procedure is the amputation at 1,200.00."""
    made = {}
    for code, name, asked in (("skin-graft", "Skin graft", "1200"), ("patch-graft", "Patch graft", "1500")):
        service = services.add_service(code=code, name=name, kind="procedure", unit="operation")
        prices.set_price(
            service=service,
            starts_on=date(2026, 7, 1),
            cost=Decimal("500"),
            usual_fee=Decimal("3000"),
            asked=Decimal(asked),
            by=clinic.manager,
            at=AT,
        )
        made[code] = service
    return made


@pytest.fixture
def planned(clinic, grafts):
    """The worked example of the comparison: .60 and .45, 1,200 and 1,500, a single procedure of 2,600, no days."""
    return plan(clinic, grafts, clinic.admit().animal)


def operation(service, chance, **more):
    return OperationSaid(
        service=service, chance=Decimal(chance), chance_source="vet", chance_words="Dr. Halvorsen", **more
    )


def plan(clinic, grafts, animal, **more):
    facts = {
        "key": uuid.uuid4(),
        "animal": animal,
        "name": "the left hock, in stages",
        "keeps": "the leg",
        "operations": [operation(grafts["skin-graft"], "0.60"), operation(grafts["patch-graft"], "0.45")],
        "after_success": StepSaid(),
        "fallback": StepSaid(service=clinic.surgery, typed_cost=Decimal("2600")),
        "single": SingleSaid(service=clinic.surgery, typed_cost=Decimal("2600")),
        "by": clinic.vet,
        "on": PARTED,
        "at": AT,
    }
    return paths.plan(**{**facts, **more})


def decide(clinic, path, choice, **more):
    facts = {
        "key": uuid.uuid4(),
        "path": path,
        "choice": choice,
        "why": "Good circulation below the wound.",
        "vet": clinic.vet,
        "manager": clinic.manager,
        "on": PARTED,
        "by": clinic.vet,
        "today": TODAY,
        "at": AT,
    }
    return path_decisions.decide(**{**facts, **more})


def result(clinic, step, result, *, complication="", on=DAY, **more):
    return path_results.record_result(
        step=step, result=result, complication=complication, on=on, by=clinic.vet, today=TODAY, at=AT, **more
    )


def page(path, on=TODAY, sees_money=True):
    path = TreatmentPath.objects.select_related("animal__partner", "planned_by").get(pk=path.pk)
    return query.path_page(path=path, on=on, sees_money=sees_money, house=House.objects.get())


def operations_of(path):
    return list(path.steps.filter(part="operation").order_by("position"))


class TestAhead:
    def test_each_rule_is_told_as_its_outcomes(self, planned):
        """60 of 100 heal after the next operation (1,200) … as the design prints them."""
        ahead = page(planned).ahead

        one_more, both = ahead.rules
        assert [(way.in_100, way.words, way.cost_minor) for way in one_more.ways] == [
            (60, "heal after the skin graft", 120_000),
            (40, "need the amputation of a hind limb", 380_000),
        ]
        assert [(way.in_100, way.cost_minor) for way in both.ways] == [(60, 120_000), (18, 270_000), (22, 530_000)]
        assert [(rule.apart_minor, rule.is_cheaper, rule.kept_in_100) for rule in ahead.rules] == [
            (36_000, True, 60),
            (22_800, True, 78),
        ]
        assert (one_more.is_best, both.is_best, ahead.convert_minor) == (True, False, 260_000)
        assert ahead.advice == ("try the skin graft", "after a skin graft that did not heal: convert")

    def test_days_cost_what_their_level_and_dressing_ask(self, clinic, grafts):
        path = plan(
            clinic,
            grafts,
            clinic.admit().animal,
            operations=[
                operation(grafts["skin-graft"], "1", days=10, level=clinic.standard, daily_service=clinic.dressing)
            ],
        )

        # 1,200 and ten days of 24.00 and 12.00
        assert page(path).ahead.best.expected_minor == 120_000 + 10 * 3_600

    def test_a_step_without_a_price_says_so_and_the_rest_of_the_page_stands(self, clinic, grafts):
        unpriced = services.add_service(code="fusion", name="Hock fusion", kind="procedure")
        path = plan(clinic, grafts, clinic.admit().animal, operations=[operation(unpriced, "0.5")])

        shown = page(path)

        assert (shown.ahead, shown.obstacle) == (None, "Hock fusion has no price on that day.")
        assert shown.operations[0].in_100 == "50"

    def test_an_operation_dearer_than_the_single_procedure_has_no_even_chance(self, clinic, grafts):
        path = plan(
            clinic,
            grafts,
            clinic.admit().animal,
            operations=[operation(grafts["skin-graft"], "0.9", typed_cost=Decimal("2600.01"))],
        )

        shown = page(path)

        assert shown.ahead.even == ""
        assert any("an operation costs more than the single procedure" in caution for caution in shown.cautions)


class TestDeciding:
    def test_the_first_decision_parts_the_ways_and_keeps_the_figures(self, clinic, planned):
        decision = decide(clinic, planned, "staged")

        planned.refresh_from_db()
        assert planned.parted_on == PARTED
        assert decision.figures == {
            "currency": "USD",
            "operations": ["Skin graft", "Patch graft"],
            "single": {"procedure": "260000", "daily": "0", "days": 0, "complication": "0"},
            "go_on": {"expected_minor": 224_000, "days": "0", "kept": "3/5"},
            "all_operations": {"expected_minor": 237_200, "days": "0", "kept": "39/50"},
            "convert": {"expected_minor": 260_000, "days": "0"},
            "even": decision.figures["even"],
        }

    def test_figures_stay_as_they_stood_when_prices_change(self, clinic, planned, grafts):
        decide(clinic, planned, "staged")
        prices.set_price(
            service=grafts["skin-graft"],
            starts_on=TODAY,
            cost=Decimal("500"),
            usual_fee=Decimal("3000"),
            asked=Decimal("1300"),
            by=clinic.manager,
            at=AT,
        )

        shown = page(planned)

        assert shown.decisions[0].go_on_minor == 224_000
        assert shown.ahead.best.expected_minor == 234_000

    def test_the_same_form_sent_twice_is_one_decision(self, clinic, planned):
        key = uuid.uuid4()

        first, second = (decide(clinic, planned, "staged", key=key) for _ in range(2))

        assert first == second
        assert PathDecision.objects.count() == 1

    def test_a_decision_never_changes(self, clinic, planned):
        decision = decide(clinic, planned, "staged")

        for attack in (
            lambda: PathDecision.objects.filter(pk=decision.pk).update(why="otherwise"),
            lambda: PathDecision.objects.filter(pk=decision.pk).delete(),
        ):
            with pytest.raises(IntegrityError), transaction.atomic():
                attack()

        assert PathDecision.objects.get().why == "Good circulation below the wound."

    @pytest.mark.parametrize(
        ("said", "refusal", "sentence"),
        [
            (lambda c: {"choice": "continue"}, "NotChosen", "Choose the staged path first"),
            (lambda c: {"vet": c.manager, "by": c.manager}, "NotTheirs", "is no vet here"),
            (lambda c: {"manager": c.vet}, "NotTheirs", "is no manager here"),
            (lambda c: {"by": c.bookkeeper}, "NotTheirs", "entered by the vet or the manager"),
            (lambda c: {"on": TODAY + timedelta(days=1)}, "DayImpossible", "has not come yet"),
            (lambda c: {"on": PARTED - timedelta(days=1)}, "DayImpossible", "before the plan"),
        ],
    )
    def test_what_cannot_be_decided_is_refused_and_nothing_is_kept(self, clinic, planned, said, refusal, sentence):
        with pytest.raises(getattr(path_decisions, refusal), match=sentence):
            decide(clinic, planned, **{"choice": "staged", **said(clinic)})

        planned.refresh_from_db()
        assert (planned.parted_on, PathDecision.objects.count()) == (None, 0)

    def test_nothing_is_decided_without_a_price(self, clinic, grafts):
        unpriced = services.add_service(code="fusion", name="Hock fusion", kind="procedure")
        path = plan(clinic, grafts, clinic.admit().animal, operations=[operation(unpriced, "0.5")])

        with pytest.raises(path_decisions.PlanNotPriced, match="Hock fusion has no price"):
            decide(clinic, path, "staged")

        assert PathDecision.objects.count() == 0

    def test_after_converting_nothing_is_left_to_choose(self, clinic, planned):
        decide(clinic, planned, "staged")
        decide(clinic, planned, "convert", on=DAY)

        with pytest.raises(path_decisions.ConvertedAlready):
            decide(clinic, planned, "continue", on=DAY)

        shown = page(planned)
        assert (shown.state, shown.ahead, shown.is_decided) == ("converted to the single procedure", None, True)


class TestResults:
    def test_an_operation_that_did_not_heal_leaves_the_next_one(self, clinic, planned):
        decide(clinic, planned, "staged")

        result(clinic, operations_of(planned)[0], "not_healed", complication="bandage injury")

        shown = page(planned)
        first, second = shown.operations
        assert (first.result, first.complication, first.done_on) == ("did not heal", "bandage injury", DAY)
        assert second.is_next
        assert [rule.words for rule in shown.ahead.rules] == ["The last one"]
        assert Change.objects.filter(what="operation").count() == 1

    def test_once_healed_nothing_is_ahead(self, clinic, planned):
        decide(clinic, planned, "staged")

        result(clinic, operations_of(planned)[0], "healed")

        shown = page(planned)
        assert (shown.state, shown.ahead, shown.obstacle) == ("healed, in aftercare", None, "")

    def test_sent_twice_is_harmless_and_another_result_is_refused(self, clinic, planned):
        decide(clinic, planned, "staged")
        step = operations_of(planned)[0]
        result(clinic, step, "healed")

        result(clinic, step, "healed")
        with pytest.raises(path_results.RecordedAlready):
            result(clinic, step, "not_healed")

        assert PathStep.objects.get(pk=step.pk).result == "healed"

    def test_not_before_its_turn(self, clinic, planned):
        first, second = operations_of(planned)
        with pytest.raises(path_results.NotMade):
            result(clinic, first, "healed")
        decide(clinic, planned, "staged")

        with pytest.raises(path_results.OutOfTurn, match="no result yet"):
            result(clinic, second, "healed")
        with pytest.raises(path_results.DayNotPossible):
            result(clinic, first, "healed", on=PARTED - timedelta(days=1))
        with pytest.raises(path_results.DayNotPossible):
            result(clinic, first, "healed", on=TODAY + timedelta(days=1))
        result(clinic, first, "healed")
        with pytest.raises(path_results.OutOfTurn, match="has healed"):
            result(clinic, second, "healed")

    def test_dying_is_an_ending_of_its_own(self, clinic, planned):
        decide(clinic, planned, "staged")

        path_results.end(path=planned, ending="died", on=DAY, by=clinic.vet, today=TODAY, at=AT)

        shown = page(planned)
        assert (shown.state, shown.is_open, shown.ahead) == ("died", False, None)
        assert [line.result for line in shown.operations] == ["", ""]
        with pytest.raises(path_decisions.PathEnded):
            result(clinic, operations_of(planned)[0], "healed")


class TestSoFar:
    def test_two_running_lines_from_the_day_the_ways_part(self, clinic, grafts):
        """Boarding 24.00 a day from October 10: three days signed off, October 13 and 14 not yet; one dressing.

        The single procedure as frozen: 2,600.00 and two days of 24.00, so 2,648.00 since October 11.
        """
        animal = clinic.admit().animal
        path = plan(
            clinic,
            grafts,
            animal,
            single=SingleSaid(service=clinic.surgery, typed_cost=Decimal("2600"), days=2, level=clinic.standard),
        )
        clinic.sign(PARTED - timedelta(days=1))
        decide(clinic, path, "staged")
        for days in range(3):
            clinic.sign(PARTED + timedelta(days=days))
        clinic.give(animal, clinic.dressing)

        so_far = page(path).so_far

        assert (so_far.asked_minor, so_far.unsigned_minor, so_far.before_minor) == (5 * 2_400 + 1_200, 6_000, 2_400)
        assert (so_far.single_minor, so_far.single_is_over) == (264_800, True)
        assert (so_far.more_minor, so_far.is_dearer, so_far.apart_minor) == (13_200 - 264_800, False, 251_600)
        assert [(kind.words, kind.asked_minor, kind.unsigned_minor) for kind in so_far.kinds] == [
            ("Boarding", 12_000, 4_800),
            ("Supplies", 1_200, 1_200),
        ]
        assert [(payer.words, payer.amount_minor) for payer in so_far.payers] == [("Nobody yet", 7_200)]

    def test_care_after_the_path_has_ended_is_no_longer_its_own(self, clinic, planned):
        decide(clinic, planned, "staged")
        for days in range(4):
            clinic.sign(PARTED + timedelta(days=days))
        path_results.end(path=planned, ending="healed", on=DAY - timedelta(days=1), by=clinic.vet, today=TODAY, at=AT)

        so_far = page(planned).so_far

        assert (so_far.asked_minor, so_far.kinds_sum.asked_minor, so_far.unsigned_minor) == (7_200, 7_200, 0)
        assert sum(payer.amount_minor for payer in so_far.payers) == 7_200

    def test_there_is_none_before_somebody_chose(self, planned):
        assert page(planned).so_far is None


class TestFunds:
    def test_the_next_operation_is_shared_as_signing_off_would(self, clinic, grafts):
        animal = clinic.admit().animal
        leg = make.fund(clinic, "animal", "Bracken's leg", subject_key=animal.key)
        clinic.gift(leg, 100_000)
        path = plan(clinic, grafts, animal)

        shown = page(path)

        assert [(payer.words, payer.available_minor, payer.pays_minor) for payer in shown.one_more.payers] == [
            ("Bracken's leg", 100_000, 100_000)
        ]
        assert (shown.one_more.asked_minor, shown.one_more.short_minor) == (120_000, 20_000)
        assert (shown.convert.asked_minor, shown.convert.short_minor) == (260_000, 160_000)
        assert shown.one_more.cover.fails_at_once

    def test_the_day_on_which_the_money_runs_out_is_told(self, clinic, grafts):
        """1,200.00 and ten days at 24.00: 1,290.00 pays the operation with three days and 18.00 of the fourth."""
        animal = clinic.admit().animal
        leg = make.fund(clinic, "animal", "Bracken's leg", subject_key=animal.key)
        clinic.gift(leg, 129_000)
        path = plan(
            clinic,
            grafts,
            animal,
            operations=[operation(grafts["skin-graft"], "0.60", days=10, level=clinic.standard)],
            after_success=StepSaid(days=7, level=clinic.standard),
        )

        shown = page(path)

        assert (shown.one_more.asked_minor, shown.one_more.short_minor) == (144_000, 15_000)
        assert shown.one_more.cover.runs_out_on == TODAY + timedelta(days=3)
        assert shown.one_more.cover.paid[3:5] == (
            (TODAY + timedelta(days=3), 129_000),
            (TODAY + timedelta(days=4), 129_000),
        )
        assert not shown.one_more.cover.fails_at_once
        assert shown.left_out == ("what follows once it has healed, 7 days, 168.00",)

    def test_money_that_carries_all_of_it_never_runs_out(self, clinic, grafts):
        animal = clinic.admit().animal
        clinic.gift(make.fund(clinic, "animal", "Bracken's leg", subject_key=animal.key), 144_000)
        days = operation(grafts["skin-graft"], "0.60", days=10, level=clinic.standard)

        cover = page(plan(clinic, grafts, animal, operations=[days])).one_more.cover

        assert cover.runs_out_on is None
        assert cover.paid == cover.asked


class TestPlanning:
    def test_a_changed_plan_keeps_the_old_one_and_the_day_the_ways_parted(self, clinic, grafts, planned):
        decide(clinic, planned, "staged")

        changed = plan(clinic, grafts, planned.animal, name="another way", on=DAY)

        planned.refresh_from_db()
        assert (planned.ended_on, planned.ending) == (DAY, "replaced")
        assert (changed.replaces, changed.parted_on) == (planned, PARTED)
        assert [line.choice for line in page(changed).decisions] == ["the staged path"]
        assert page(changed).so_far is not None

    def test_the_same_form_sent_twice_is_one_plan(self, clinic, grafts):
        animal, key = clinic.admit().animal, uuid.uuid4()

        first, second = (plan(clinic, grafts, animal, key=key) for _ in range(2))

        assert first == second
        assert TreatmentPath.objects.count() == 1

    @pytest.mark.parametrize(
        ("said", "refusal"),
        [
            (lambda c, g: {"operations": []}, paths.NoOperation),
            (lambda c, g: {"operations": [operation(g["skin-graft"], "1.01")]}, paths.ChanceImpossible),
            (lambda c, g: {"operations": [operation(c.dressing, "0.5")]}, paths.NotAProcedure),
            (lambda c, g: {"operations": [operation(g["skin-graft"], "0.5", days=3)]}, paths.DaysWithoutLevel),
            (
                lambda c, g: {"operations": [operation(g["skin-graft"], "0.5", typed_cost=Decimal(-1))]},
                paths.CostNegative,
            ),
            (
                lambda c, g: {
                    "operations": [
                        OperationSaid(service=g["skin-graft"], chance=Decimal("0.5"), chance_source="series")
                    ]
                },
                paths.ChanceWithoutSource,
            ),
            (
                lambda c, g: {
                    "operations": [OperationSaid(service=g["skin-graft"], chance=Decimal("0.5"), chance_source="")]
                },
                paths.ChanceWithoutSource,
            ),
            (
                lambda c, g: {"single": SingleSaid(service=c.surgery, complication_chance=Decimal(2))},
                paths.ChanceImpossible,
            ),
        ],
    )
    def test_a_plan_that_cannot_be_is_refused_and_nothing_is_kept(self, clinic, grafts, said, refusal):
        animal = clinic.admit().animal

        with pytest.raises(refusal):
            plan(clinic, grafts, animal, **said(clinic, grafts))

        assert TreatmentPath.objects.count() == 0


def test_the_ward_sees_no_amount(clinic, planned):
    decide(clinic, planned, "staged")

    shown = page(planned, sees_money=False)

    assert (shown.so_far, shown.ahead, shown.one_more, shown.convert, shown.decisions) == (None, None, None, None, ())
    assert [line.words for line in shown.operations] == ["Skin graft", "Patch graft"]


def test_the_list_says_where_each_path_stands(clinic, planned):
    decide(clinic, planned, "staged")
    result(clinic, operations_of(planned)[0], "not_healed")

    (line,) = path_list.path_list()

    assert (line.animal, line.state, line.next_words, line.done, line.of) == (
        "Bracken",
        "on the staged path",
        "Patch graft",
        1,
        2,
    )


class TestMoneyOfAPath:
    def test_the_first_decision_freezes_what_general_money_pays_at_most(self, clinic, planned):
        """D3: what the single procedure would have cost, 2,600.00, whatever the price list says later."""
        decide(clinic, planned, "staged")

        assert books.Ceiling.objects.get().most_minor == 2600_00
        decide(clinic, planned, "continue", key=uuid.uuid4())
        assert books.Ceiling.objects.count() == 1

    def test_choosing_sets_aside_what_the_next_step_asks(self, clinic, planned):
        """D4: the first operation asks 1,200.00."""
        money.opened(money.general(), 2000_00)
        decide(clinic, planned, "staged")

        kept = books.Commitment.objects.get()
        assert (kept.fund.name, kept.amount_minor, kept.plan_key) == ("General", 1200_00, planned.key)

    def test_the_next_decision_frees_what_the_one_before_had_set_aside(self, clinic, planned):
        money.opened(money.general(), 2000_00)
        decide(clinic, planned, "staged")
        decide(clinic, planned, "convert", key=uuid.uuid4())

        kept = {row.amount_minor: row.ended_why for row in books.Commitment.objects.all()}
        assert kept == {1200_00: "decided anew", 2000_00: ""}

    def test_every_end_frees_what_is_set_aside(self, clinic, planned):
        """G4."""
        money.opened(money.general(), 2000_00)
        decide(clinic, planned, "staged")

        path_results.end(path=planned, ending="died", on=DAY, by=clinic.vet, today=TODAY, at=AT)

        assert [row.ended_on for row in books.Commitment.objects.all()] == [DAY]
        assert "died" in books.Commitment.objects.get().ended_why

    def test_a_changed_plan_keeps_the_ceiling_of_the_first(self, clinic, grafts, planned):
        decide(clinic, planned, "staged")
        changed = plan(clinic, grafts, planned.animal, key=uuid.uuid4())

        assert plan_keys.plan_key(changed) == planned.key
