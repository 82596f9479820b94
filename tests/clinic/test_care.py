"""Writing down care: what is refused, in which words, and that a form sent twice is one (B6, B7, B10)."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest

from clinic.actions import animals, care, stays
from clinic.models import Animal, CareItem, Change, Stay, WardSheet
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic():
    return make.open_clinic()


@pytest.fixture
def bracken(clinic):
    return clinic.admit(on=DAY - timedelta(days=3)).animal


REFUSED = {
    "zero": ({"quantity": "0"}, care.QuantityOutOfReason, "Write a number above 0 and at most 1,440"),
    "negative": ({"quantity": "-2"}, care.QuantityOutOfReason, "-2 is not a quantity"),
    "far too many": ({"quantity": "1441"}, care.QuantityOutOfReason, "at most 1,440"),
    "tomorrow": ({"on": TODAY + timedelta(days=1), "today": TODAY}, care.InTheFuture, "has not come yet"),
    "before it came": (
        {"on": DAY - timedelta(days=4), "today": TODAY, "late_source": "paper"},
        care.BeforeAdmission,
        "came on October 10, 2026",
    ),
    "yesterday, from nowhere": ({"on": DAY, "today": TODAY}, care.LateWithoutSource, "Say where it comes from"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused_in_a_sentence_and_nothing_is_written(clinic, bracken, name):
    facts, refusal, words = REFUSED[name]
    before = (CareItem.objects.count(), Change.objects.count(), WardSheet.objects.count())

    with pytest.raises(refusal, match=words):
        clinic.give(bracken, clinic.dressing, **facts)

    assert (CareItem.objects.count(), Change.objects.count(), WardSheet.objects.count()) == before


def test_the_same_entry_sent_twice_is_one(clinic, bracken):
    key = uuid.uuid4()

    first, second = (clinic.give(bracken, clinic.dressing, key=key) for _ in range(2))

    assert first == second
    assert CareItem.objects.count() == 1


def test_a_key_used_again_with_other_content_is_refused(clinic, bracken):
    key = uuid.uuid4()
    clinic.give(bracken, clinic.dressing, key=key)

    with pytest.raises(care.KeyUsedAgain, match="Nothing was written twice"):
        clinic.give(bracken, clinic.dressing, key=key, quantity="2")

    assert CareItem.objects.get().quantity == 1


def test_b7_a_late_entry_says_by_whom_and_from_what(clinic, bracken):
    item = clinic.give(bracken, clinic.tablets, today=TODAY, late_source="told", given_by="not known")

    assert (item.late, item.late_source, item.given_by, item.recorded_by) == (True, "told", "not known", clinic.nurse)


def test_an_entry_for_a_signed_row_of_today_asks_to_be_a_late_entry(clinic, bracken):
    clinic.see_all(TODAY)
    clinic.sign(on=TODAY)

    with pytest.raises(care.RowSigned, match="late entry"):
        clinic.give(bracken, clinic.tablets, on=TODAY)

    assert clinic.give(bracken, clinic.tablets, on=TODAY, late_source="memory").late


def test_every_change_leaves_its_line_in_the_history(clinic, bracken):
    item = clinic.give(bracken, clinic.tablets)
    care.undo(item=item, by=clinic.vet, at=AT)

    lines = bracken.changes.filter(what="care item").order_by("pk").values_list("by__initials", "after")
    assert list(lines) == [
        ("PQ", {"service": "Tablets", "quantity": "1", "on": "2026-10-13"}),
        ("NH", {"undone": True}),
    ]


def test_many_facts_cost_as_many_queries_as_one(clinic, bracken, django_assert_num_queries):
    def facts(count: int) -> list[care.Given]:
        return [care.Given(key=uuid.uuid4(), animal=bracken, on=DAY, service=clinic.tablets) for _ in range(count)]

    care.record_all(facts=facts(1), by=clinic.nurse, today=DAY, at=AT)
    with django_assert_num_queries(8):
        care.record_all(facts=facts(1), by=clinic.nurse, today=DAY, at=AT)
    with django_assert_num_queries(8):
        care.record_all(facts=facts(40), by=clinic.nurse, today=DAY, at=AT)


def test_b3_after_it_left_care_is_a_visit_and_makes_no_night(clinic, bracken):
    stays.discharge(
        stay=bracken.stays.get(), discharged_on=DAY, left_to="foster", why="", by=clinic.vet, today=DAY, at=AT
    )
    clinic.give(bracken, clinic.dressing, on=TODAY)
    clinic.see_all(TODAY)

    rows = clinic.preview(on=TODAY).rows

    assert [[line.words for line in row.lines] for row in rows] == [["Padded dressing"]]


class TestStays:
    def test_b1_nights_follow_from_the_stay(self, clinic):
        """Admitted the 10th, left the 13th: boarding days are the 10th, 11th and 12th."""
        stay = clinic.admit(on=date(2026, 10, 10))
        stays.discharge(
            stay=stay, discharged_on=date(2026, 10, 13), left_to="foster", why="", by=clinic.vet, today=DAY, at=AT
        )

        boarded = [day for day in range(9, 15) if clinic.preview(on=date(2026, 10, day), today=date(2026, 10, 20)).rows]

        assert boarded == [10, 11, 12]

    def test_b1_in_and_out_on_one_day_counts_as_one_boarding_day(self, clinic):
        stay = clinic.admit(on=DAY)
        stays.discharge(stay=stay, discharged_on=DAY, left_to="foster", why="", by=clinic.vet, today=DAY, at=AT)

        assert [len(row.lines) for row in clinic.preview(on=DAY).rows] == [1]

    def test_two_stays_of_one_animal_never_overlap(self, clinic, bracken):
        with pytest.raises(animals.StayOverlaps, match="in care already"):
            animals.begin_stay(
                animal=bracken, admitted_on=DAY, level=clinic.standard, by=clinic.nurse, today=TODAY, at=AT
            )

        assert Stay.objects.count() == 1

    def test_an_admission_sent_twice_is_one(self, clinic):
        key = uuid.uuid4()
        facts = {
            "key": key, "name": "Wicket", "species": "dog", "sex": "male", "admitted_on": DAY, "partner": None,
            "level": clinic.standard, "by": clinic.nurse, "today": TODAY, "at": AT,
        }  # fmt: skip

        first, second = animals.admit(**facts), animals.admit(**facts)

        assert first == second
        assert Animal.objects.filter(name="Wicket").count() == 1
        with pytest.raises(animals.AlreadyAdmitted, match="has already admitted Wicket"):
            animals.admit(**{**facts, "name": "Nettle"})

    def test_tomorrow_is_no_day_to_admit_on(self, clinic):
        with pytest.raises(animals.AdmittedInTheFuture, match="has not come yet"):
            clinic.admit(on=TODAY + timedelta(days=1))

        assert not Animal.objects.exists()

    @pytest.mark.parametrize(
        ("day", "refusal", "words"),
        [
            (DAY - timedelta(days=9), stays.DischargedBeforeAdmission, "cannot have left"),
            (TODAY + timedelta(days=1), stays.DischargedInTheFuture, "has not come yet"),
        ],
    )
    def test_a_discharge_that_cannot_be(self, clinic, bracken, day, refusal, words):
        with pytest.raises(refusal, match=words):
            stays.discharge(
                stay=bracken.stays.get(), discharged_on=day, left_to="foster", why="", by=clinic.vet, today=TODAY, at=AT
            )

        assert bracken.stays.get().discharged_on is None

    def test_a_night_that_is_signed_off_is_not_taken_back_by_a_discharge(self, clinic, bracken):
        clinic.sign(on=DAY)

        with pytest.raises(stays.DaySignedSince, match="is signed off"):
            stays.discharge(
                stay=bracken.stays.get(), discharged_on=DAY, left_to="foster", why="", by=clinic.vet, today=TODAY, at=AT
            )

    def test_the_next_number_follows_the_last(self, clinic):
        assert [clinic.admit(name).animal.number for name in ("One", "Two")] == ["26-0001", "26-0002"]


class TestPrices:
    def price(self, clinic, **figures):
        from clinic.actions import prices

        said = {"starts_on": TODAY, "cost": "10", "usual_fee": "30", "asked": "13", **figures}
        amounts = {name: Decimal(said[name]) for name in ("cost", "usual_fee", "asked")}
        return prices.set_price(
            service=clinic.dressing, starts_on=said["starts_on"], **amounts, by=clinic.manager, at=AT
        )

    def test_the_price_in_force_on_the_day_of_care_decides(self, clinic, bracken):
        clinic.give(bracken, clinic.dressing)
        self.price(clinic)

        assert clinic.preview(on=DAY).rows[0].lines[1].asked_minor == 1200

    def test_a_change_never_touches_a_signed_day(self, clinic, bracken):
        clinic.give(bracken, clinic.dressing)
        clinic.sign(on=DAY)

        from clinic.actions import prices

        with pytest.raises(prices.DaySignedAlready, match="signed off with the earlier price"):
            self.price(clinic, starts_on=DAY)

    @pytest.mark.parametrize(
        ("figures", "words"),
        [
            ({"cost": "-1"}, "zero or more"),
            ({"asked": "31"}, "Ask at most the usual fee"),
            ({"starts_on": date(2026, 7, 1)}, "already has a price"),
        ],
    )
    def test_a_price_that_cannot_be(self, clinic, figures, words):
        from config.refusal import Refusal

        with pytest.raises(Refusal, match=words):
            self.price(clinic, **figures)

        assert clinic.dressing.prices.count() == 1
