"""Review points: reached by a day, a count, a limit or a finding; answered by a decision; nothing is blocked."""

import uuid
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import observations, path_decisions, path_results, path_reviews
from clinic.forms.observed import WoundSaid
from clinic.models import CareItem, Change, House, PathEvent, ReviewPoint
from clinic.queries import due_decisions
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.clinic.test_path_pages import words
from tests.clinic.test_paths import PARTED, decide, grafts, operations_of, page, plan, result  # noqa: F401

pytestmark = pytest.mark.django_db

SET_AT = datetime(2026, 10, 10, 9, tzinfo=UTC)


@pytest.fixture
def clinic(settings):
    settings.AS_OF = TODAY.isoformat()
    return make.open_clinic(percent=None)


@pytest.fixture
def path(clinic, grafts):  # noqa: F811
    made = plan(clinic, grafts, clinic.admit().animal)
    decide(clinic, made, "staged", at=SET_AT)
    return made


def point(clinic, path, kind, *, at=SET_AT, **figures):
    return path_reviews.set_point(key=uuid.uuid4(), path=path, kind=kind, by=clinic.vet, today=PARTED, at=at, **figures)


def lines(path, on=TODAY):
    return [(line.state, line.reached_on, line.due) for line in page(path, on=on).reviews]


def observe(clinic, path, *, on=DAY, at=AT, **said):
    observations.observe(key=uuid.uuid4(), animal=path.animal, on=on, by=clinic.nurse, today=TODAY, at=at, **said)


def wound(clinic, path, day, diameter):
    size = Decimal(diameter)
    said = WoundSaid(wound="hock", method="axes", length_mm=size, width_mm=size)
    observe(clinic, path, on=day, at=AT + (day - DAY), wound=said)


class TestReached:
    def test_a_day_that_has_come(self, clinic, path):
        point(clinic, path, "day", on=TODAY - timedelta(days=4))

        assert lines(path) == [("due", TODAY - timedelta(days=4), "decision due for 4 days")]

    @pytest.mark.parametrize(("days", "due"), [(0, "decision due today"), (1, "decision due for a day")])
    def test_the_days_are_told_in_words(self, clinic, path, days, due):
        point(clinic, path, "day", on=TODAY - timedelta(days=days))

        assert lines(path)[0][2] == due

    def test_a_day_ahead(self, clinic, path):
        point(clinic, path, "day", on=TODAY + timedelta(days=1))

        assert lines(path) == [("ahead", None, "")]

    def test_a_number_of_operations(self, clinic, path):
        point(clinic, path, "operations", operations=1)
        assert lines(path) == [("ahead", None, "")]

        result(clinic, operations_of(path)[0], "not_healed", on=DAY)

        assert lines(path) == [("due", DAY, "decision due for a day")]

    def test_a_spending_limit_holds_the_conversion_back_inside_it(self, clinic, path):
        """Converting costs 2,600.00 and a night 24.00, so 2,650.00 is reached with the third night."""
        point(clinic, path, "spending", limit_minor=265_000)

        (line,) = page(path).reviews

        assert (line.state, line.reached_on) == ("due", PARTED + timedelta(days=2))
        assert line.words == "at a spending limit of 2,650.00, with the conversion, 2,600.00, held back inside it"

    def test_a_spending_limit_that_is_never_reached_changes_nothing(self, clinic, path):
        before = page(path)
        point(clinic, path, "spending", limit_minor=2_000_000)

        after = page(path)

        assert [line.state for line in after.reviews] == ["ahead"]
        assert (after.so_far, after.ahead, after.one_more, after.money) == (
            before.so_far,
            before.ahead,
            before.one_more,
            before.money,
        )

    def test_pain_above_its_line(self, clinic, path):
        point(clinic, path, "finding", finding="pain", pain_over=Decimal(4), pain_of=Decimal(10))
        observe(
            clinic, path, on=DAY - timedelta(days=1), at=AT - timedelta(days=1), pain=Decimal(4), pain_of=Decimal(10)
        )
        assert lines(path)[0][0] == "ahead"

        observe(clinic, path, pain=Decimal(10), pain_of=Decimal(24))

        assert lines(path) == [("due", DAY, "decision due for a day")]

    def test_not_eating(self, clinic, path):
        point(clinic, path, "finding", finding="eating")
        observe(clinic, path, on=DAY - timedelta(days=1), at=AT - timedelta(days=1), appetite=(1, "eats some of it"))
        assert lines(path)[0][0] == "ahead"

        observe(clinic, path, appetite=(0, "eats nothing"))

        assert lines(path)[0][:2] == ("due", DAY)

    def test_a_wound_larger_twice(self, clinic, path):
        point(clinic, path, "finding", finding="wound")
        for back, size in ((3, 30), (2, 31)):
            wound(clinic, path, DAY - timedelta(days=back), size)
        assert lines(path)[0][0] == "ahead"

        wound(clinic, path, DAY - timedelta(days=1), 32)

        assert lines(path)[0][:2] == ("due", DAY - timedelta(days=1))

    def test_a_bandage_injury(self, clinic, path):
        point(clinic, path, "finding", finding="injury")
        assert lines(path)[0][0] == "ahead"

        happened(clinic, path, "complication")
        assert lines(path)[0][0] == "ahead"
        happened(clinic, path, "injury")

        assert lines(path)[0][:2] == ("due", DAY)


class TestAnswered:
    def test_a_decision_answers_what_was_reached_before_it(self, clinic, path):
        point(clinic, path, "day", on=DAY)
        decide(clinic, path, "continue", on=DAY)

        assert lines(path) == [("answered", DAY, "")]

    def test_a_finding_after_the_decision_is_due_anew(self, clinic, path):
        point(clinic, path, "finding", finding="eating")
        observe(clinic, path, on=DAY - timedelta(days=1), at=AT - timedelta(days=1), appetite=(0, "eats nothing"))
        decide(clinic, path, "continue", on=DAY, at=AT - timedelta(hours=1))
        assert lines(path)[0][0] == "answered"

        observe(clinic, path, on=TODAY, at=AT, appetite=(0, "eats nothing"))

        assert lines(path) == [("due", TODAY, "decision due today")]

    def test_reaching_one_blocks_nothing(self, clinic, path):
        point(clinic, path, "day", on=DAY)

        result(clinic, operations_of(path)[0], "healed")

        assert page(path).has_healed

    def test_converting_or_the_end_leaves_nothing_due(self, clinic, path):
        point(clinic, path, "day", on=DAY - timedelta(days=1))
        decide(clinic, path, "convert", on=DAY)

        assert page(path).reviews == ()

    def test_a_changed_plan_keeps_its_review_points(self, clinic, grafts, path):  # noqa: F811
        point(clinic, path, "day", on=DAY)
        changed = plan(clinic, grafts, path.animal, on=TODAY)

        assert lines(changed) == [("due", DAY, "decision due for a day")]

    def test_a_dropped_one_is_gone_and_stays_in_the_history(self, clinic, path):
        dropped = path_reviews.drop_point(point=point(clinic, path, "day", on=DAY), by=clinic.vet, at=AT)

        assert lines(path) == []
        assert Change.objects.filter(what="review point", what_id=dropped.pk).count() == 2
        with pytest.raises(path_reviews.Dropped):
            path_reviews.drop_point(point=dropped, by=clinic.manager, at=AT)


class TestSetting:
    @pytest.mark.parametrize(
        "said",
        [
            {"kind": "day"},
            {"kind": "operations", "operations": 0},
            {"kind": "spending", "limit_minor": -5},
            {"kind": "finding"},
            {"kind": "finding", "finding": "pain"},
            {"kind": "finding", "finding": "pain", "pain_over": Decimal(10), "pain_of": Decimal(10)},
        ],
    )
    def test_each_kind_has_its_figure(self, clinic, path, said):
        with pytest.raises(path_reviews.FigureMissing), transaction.atomic():
            point(clinic, path, **said)

        assert ReviewPoint.objects.count() == 0

    def test_the_same_form_sent_twice_is_one_point(self, clinic, path):
        key = uuid.uuid4()
        facts = {"key": key, "path": path, "kind": "day", "by": clinic.vet, "today": TODAY, "at": AT}
        one, other = (path_reviews.set_point(**facts, on=DAY) for _ in range(2))

        assert one == other
        with pytest.raises(path_reviews.KeyUsedAgain):
            path_reviews.set_point(**{**facts, "kind": "finding"}, finding="eating")

    def test_the_database_keeps_each_kind_to_its_figure(self, clinic, path):
        point(clinic, path, "day", on=DAY)

        for wrong in ({"on": None}, {"operations": 2}, {"finding": "pain"}, {"kind": "spending"}):
            with pytest.raises(IntegrityError), transaction.atomic():
                ReviewPoint.objects.update(**wrong)

    def test_an_ended_path_has_no_new_one(self, clinic, path):
        path_results.end(path=path, ending="healed", on=TODAY, by=clinic.vet, today=TODAY, at=AT)

        with pytest.raises(path_decisions.PathEnded):
            point(clinic, path, "day", on=TODAY)


def happened(clinic, path, kind, *, on=DAY, **more):
    return path_reviews.record_event(
        key=more.pop("key", uuid.uuid4()),
        path=path,
        kind=kind,
        on=on,
        words="rubbed raw over the toes",
        by=clinic.nurse,
        today=TODAY,
        at=AT,
        **more,
    )


class TestWhatHappened:
    def test_is_a_fact_of_its_own_beside_the_result(self, clinic, path):
        happened(clinic, path, "injury")

        (line,) = page(path).events
        assert (line.kind, line.words, line.took) == ("bandage injury", "rubbed raw over the toes", "")
        assert operations_of(path)[0].result == ""

    def test_its_cost_falls_on_the_path_that_caused_it_even_after_the_end(self, clinic, path):
        path_results.end(path=path, ending="converted", on=DAY - timedelta(days=1), by=clinic.vet, today=TODAY, at=AT)
        clinic.give(path.animal, clinic.dressing, on=DAY)
        before = page(path).so_far
        happened(clinic, path, "complication", service=clinic.dressing, late_source="paper")

        waiting = page(path).so_far
        clinic.see_all()
        clinic.sign()
        signed = page(path).so_far

        assert waiting.asked_minor - before.asked_minor == 1_200
        assert (waiting.unsigned_minor - before.unsigned_minor, signed.asked_minor) == (1_200, waiting.asked_minor)
        assert waiting.unsigned_minor - signed.unsigned_minor == 1_200

    def test_sent_twice_is_once(self, clinic, path):
        key = uuid.uuid4()
        for _ in range(2):
            happened(clinic, path, "injury", key=key, service=clinic.dressing, late_source="paper")

        assert (PathEvent.objects.count(), CareItem.objects.count()) == (1, 1)
        with pytest.raises(path_reviews.KeyUsedAgain):
            happened(clinic, path, "complication", key=key)

    @pytest.mark.parametrize("days", [-30, 2])
    def test_not_before_the_ways_parted_nor_ahead(self, clinic, path, days):
        with pytest.raises(path_reviews.EventImpossible):
            happened(clinic, path, "injury", on=DAY + timedelta(days=days))

    def test_is_never_changed(self, clinic, path):
        event = happened(clinic, path, "injury")

        with pytest.raises(IntegrityError), transaction.atomic():
            PathEvent.objects.filter(pk=event.pk).update(words="nothing")
        with pytest.raises(IntegrityError), transaction.atomic():
            event.delete()


class TestThePages:
    def test_the_path_and_the_first_page_say_since_when_a_decision_is_due(self, client, clinic, path):
        point(clinic, path, "day", on=TODAY - timedelta(days=4))
        client.force_login(clinic.vet)

        on_path = words(client.get(reverse("clinic:path", args=[path.pk])))
        at_home = words(client.get(reverse("clinic:home")))

        assert "Decision due for 4 days. Review point on October 10, 2026: reached on Saturday, October 10." in on_path
        assert "1 path to decide Bracken: decision due for 4 days, on October 10, 2026." in at_home

    def test_home_says_nothing_where_nothing_is_due(self, clinic, path):
        point(clinic, path, "day", on=TODAY + timedelta(days=1))

        assert due_decisions.due_decisions(on=TODAY, house=House.objects.get()) == ()

    def test_a_review_point_is_set_from_its_form(self, client, clinic, path):
        client.force_login(clinic.manager)
        address = reverse("clinic:path_review", args=[path.pk])

        wrong = client.post(address, {"key": str(uuid.uuid4()), "kind": "spending"})
        sent = client.post(address, {"key": str(uuid.uuid4()), "kind": "spending", "limit_minor": "3,000.00"})

        assert wrong.status_code == 422
        assert "Fill in the box that belongs to this kind" in words(wrong)
        assert sent.status_code == 303
        assert ReviewPoint.objects.get().limit_minor == 300_000

    def test_and_dropped_again(self, client, clinic, path):
        made = point(clinic, path, "day", on=DAY)
        client.force_login(clinic.vet)

        client.post(reverse("clinic:review_drop", args=[path.pk, made.pk]))

        assert lines(path) == []

    def test_the_ward_records_a_bandage_injury(self, client, clinic, path):
        client.force_login(clinic.nurse)

        sent = client.post(
            reverse("clinic:path_event", args=[path.pk]),
            {"key": str(uuid.uuid4()), "kind": "injury", "on": TODAY.isoformat(), "words": "toes swollen"},
        )

        assert sent.url == reverse("clinic:animal", args=[path.animal_id])
        assert PathEvent.objects.get().words == "toes swollen"


@pytest.mark.parametrize("name", ["path_review", "path_event"])
def test_the_page_sends_the_key_of_its_form(clinic, path, client, name):
    client.force_login(clinic.vet, "django.contrib.auth.backends.ModelBackend")

    assert 'name="key"' in client.get(reverse(f"clinic:{name}", args=[path.pk])).content.decode()
