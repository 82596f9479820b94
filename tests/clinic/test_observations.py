"""How an animal is, in figures: written down without a price, and told on its path's page."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from clinic.actions import observations
from clinic.forms.observed import WoundSaid
from clinic.models import Change, House, Observation, WoundReading
from clinic.queries import wounds
from ledger import models as books
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.clinic.test_path_pages import words
from tests.clinic.test_paths import grafts, plan  # noqa: F401

pytestmark = pytest.mark.django_db

ADMITTED = date(2026, 9, 1)


@pytest.fixture
def clinic(settings):
    settings.AS_OF = TODAY.isoformat()
    made = make.open_clinic(percent=None)
    House.objects.update(opening_on=date(2026, 8, 1))
    return made


@pytest.fixture
def animal(clinic):
    return clinic.admit(on=ADMITTED).animal


def observe(clinic, animal, *, on=DAY, **said):
    return observations.observe(
        key=said.pop("key", uuid.uuid4()), animal=animal, on=on, by=clinic.nurse, today=TODAY, at=AT, **said
    )


def axes(length, width, wound="left hock"):
    return WoundSaid(wound=wound, method="axes", length_mm=Decimal(length), width_mm=Decimal(width))


def traced(area, wound="left hock", around=None):
    return WoundSaid(wound=wound, method="traced", area_mm2=Decimal(area), perimeter_mm=around and Decimal(around))


def round_wounds(clinic, animal, *diameters):
    """Readings of a round wound, a week apart, the newest on DAY."""
    for back, diameter in enumerate(reversed(diameters)):
        observe(clinic, animal, on=DAY - timedelta(weeks=back), wound=axes(diameter, diameter))


def story(animal):
    return wounds.wound_story(animal=animal, on=TODAY)


class TestObserving:
    def test_each_thing_is_a_fact_of_its_own_without_price(self, clinic, animal):
        observe(
            clinic,
            animal,
            comfort="sleeps through",
            pain=Decimal(2),
            pain_of=Decimal(10),
            appetite=(0, "eats nothing"),
            weight=Decimal("22.4"),
            weighed="with bandage",
            wound=axes(61, 32),
        )

        seen = {one.kind: one for one in Observation.objects.all()}
        assert set(seen) == {"comfort", "pain", "appetite", "weight", "wound"}
        assert (seen["pain"].value, seen["pain"].maximum) == (2, 10)
        assert (seen["wound"].value, seen["wound"].words) == (Decimal("15.331"), "61 × 32 mm")
        assert Change.objects.filter(what="observation").count() == 5
        assert books.Charge.objects.count() == 0

    def test_the_same_form_sent_twice_writes_once(self, clinic, animal):
        key = uuid.uuid4()
        for _ in range(2):
            observe(clinic, animal, key=key, comfort="sleeps through", wound=axes(61, 32))

        assert (Observation.objects.count(), WoundReading.objects.count()) == (2, 1)

    @pytest.mark.parametrize(
        ("said", "refusal", "sentence"),
        [
            ({}, observations.NothingSeen, "Nothing is filled in"),
            ({"pain": Decimal(2)}, observations.PainWithoutScale, "Say of how many"),
            ({"pain": Decimal(12), "pain_of": Decimal(10)}, observations.PainWithoutScale, "lies within it"),
            ({"wound": axes(30, 40)}, observations.WoundNotRead, "The length is the longer"),
            ({"wound": axes(0, 0)}, observations.WoundNotRead, "above zero"),
            ({"wound": traced(1000, around=20)}, observations.WoundNotRead, "No outline so short"),
        ],
    )
    def test_what_cannot_be_is_a_sentence_and_nothing_is_kept(self, clinic, animal, said, refusal, sentence):
        with pytest.raises(refusal, match=sentence), transaction.atomic():
            observe(clinic, animal, **{"comfort": "well", **said} if said else said)

        assert Observation.objects.count() == 0

    def test_one_method_for_each_wound(self, clinic, animal):
        observe(clinic, animal, on=DAY - timedelta(days=7), wound=axes(61, 32))

        with pytest.raises(observations.TwoMethods, match="read by length by width so far"):
            observe(clinic, animal, wound=traced(900))
        observe(clinic, animal, wound=traced(900, wound="left hock, traced"))

        assert WoundReading.objects.count() == 2

    def test_one_reading_a_day_until_it_is_taken_back(self, clinic, animal):
        observe(clinic, animal, wound=axes(16, 3))
        with pytest.raises(observations.ReadAlready):
            observe(clinic, animal, wound=axes(61, 32))

        observations.take_back(reading=WoundReading.objects.get(), by=clinic.nurse, at=AT)
        observe(clinic, animal, wound=axes(61, 32))

        assert [line.size for line in story(animal).lines] == ["61 × 32 mm"]
        assert Change.objects.filter(what="wound reading", why="taken back").count() == 1
        with pytest.raises(observations.ReadingTakenBack):
            observations.take_back(reading=WoundReading.objects.earliest("pk"), by=clinic.vet, at=AT)

    def test_the_database_keeps_the_figures_of_a_method_together(self, clinic, animal):
        observe(clinic, animal, wound=axes(61, 32))

        for wrong in ({"area_mm2": 5}, {"width_mm": 70}, {"width_mm": None}, {"method": "traced"}):
            with pytest.raises(IntegrityError), transaction.atomic():
                WoundReading.objects.update(**wrong)


class TestTheStory:
    def test_five_readings_tell_a_closing_day_with_its_range(self, clinic, animal):
        round_wounds(clinic, animal, 40, 36, 32, 28, 24)

        found = story(animal)

        assert found.percent == "64"
        assert not found.has_grown
        assert [line.advance for line in found.lines] == ["", "0.29", "0.29", "0.29", "0.29"]
        assert found.closing.on == DAY + timedelta(days=42)
        assert "closes about November 24, 2026, between November 24, 2026 and November 24, 2026" in found.sentence

    def test_a_reading_written_late_takes_its_place(self, clinic, animal):
        for day, diameter in ((0, 24), (14, 32), (7, 28)):
            observe(clinic, animal, on=DAY - timedelta(days=day), wound=axes(diameter, diameter))

        assert [line.area for line in story(animal).lines] == ["8.0", "6.2", "4.5"]

    @pytest.mark.parametrize(
        ("diameters", "sentence"),
        [
            ((40,), "One reading says how large it is; the advance of its edge needs a second one."),
            ((40, 36), "a closing day is told from 5 readings on."),
            ((30, 36), "It has grown since the first reading, so no closing day is told."),
            ((40, 36, 32, 28, 29), "it has not advanced lately, so no closing day is told."),
            ((40, 36, 38, 30, 26), "at its slowest it did not advance at all."),
        ],
    )
    def test_what_cannot_be_told_is_a_sentence(self, clinic, animal, diameters, sentence):
        round_wounds(clinic, animal, *diameters)

        found = story(animal)

        assert found.sentence.endswith(sentence)
        assert (found.chart is None) == (len(diameters) == 1)

    def test_a_later_closing_day_of_a_smaller_wound_is_explained(self, clinic, animal):
        """The radius lost 8 mm in the first week and 1 mm in each later one: without that week it is slower."""
        round_wounds(clinic, animal, 60, 44, 42, 40, 38, 36)

        told = story(animal)

        first = DAY - timedelta(weeks=5)
        assert f"it advanced faster just after {first:%B} {first.day}" in told.moved_on

    def test_a_wound_at_an_even_pace_has_nothing_to_explain(self, clinic, animal):
        round_wounds(clinic, animal, 46, 44, 42, 40, 38, 36)

        assert story(animal).moved_on == ""

    def test_less_than_half_at_four_weeks_is_told_and_no_promise(self, clinic, animal):
        round_wounds(clinic, animal, 40, 39, 38, 37, 36)

        assert story(animal).slow == "19"

    def test_a_trace_without_an_outline_has_no_advance(self, clinic, animal):
        observe(clinic, animal, on=DAY - timedelta(days=7), wound=traced(2000))
        observe(clinic, animal, wound=traced(1500))

        found = story(animal)

        assert (found.percent, found.sentence) == ("25", "Without an outline the advance of the edge is not told.")

    def test_no_reading_is_no_story(self, animal):
        assert story(animal) is None


class TestThePages:
    def test_the_ward_writes_down_what_it_saw(self, client, clinic, animal):
        client.force_login(clinic.nurse)

        sent = client.post(
            reverse("clinic:observe", args=[animal.pk]),
            {
                "key": str(uuid.uuid4()),
                "on": TODAY.isoformat(),
                "pain": "2",
                "pain_of": "10",
                "appetite": "0",
                "wound": "left hock",
                "method": "axes",
                "length_mm": "61",
                "width_mm": "32",
            },
        )

        assert sent.status_code == 303
        assert sorted(Observation.objects.values_list("kind", flat=True)) == ["appetite", "pain", "wound"]
        assert "15.3 61 × 32 mm" not in words(client.get(reverse("clinic:observe", args=[animal.pk])))
        assert "61 × 32 mm" in words(client.get(reverse("clinic:observe", args=[animal.pk])))

    @pytest.mark.parametrize(
        ("said", "sentence"),
        [
            ({}, "Nothing is filled in"),
            ({"pain": "2"}, "a pain score means nothing without its scale"),
            ({"length_mm": "61", "width_mm": "32", "wound": ""}, "Name the wound"),
            ({"length_mm": "61"}, "Length by width has both figures"),
            ({"method": "traced", "length_mm": "61"}, "A traced wound has its area"),
            ({"length_mm": "-3", "width_mm": "2"}, "Write a number above zero."),
            ({"length_mm": "many", "width_mm": "2"}, "Write a number, such as 61 or 61.5."),
            ({"comfort": "well", "on": "2026-10-20"}, "has not come yet"),
        ],
    )
    def test_a_form_that_is_wrong_says_so_with_what_was_typed(self, client, clinic, animal, said, sentence):
        client.force_login(clinic.nurse)

        sent = client.post(
            reverse("clinic:observe", args=[animal.pk]),
            {"key": str(uuid.uuid4()), "on": TODAY.isoformat(), "wound": "left hock", "method": "axes", **said},
        )

        assert sent.status_code == 422
        assert sentence in words(sent)
        assert Observation.objects.count() == 0

    def test_a_mistyped_reading_is_taken_back(self, client, clinic, animal):
        observe(clinic, animal, wound=axes(61, 32))
        client.force_login(clinic.nurse)

        client.post(reverse("clinic:wound_take_back", args=[WoundReading.objects.get().pk]))

        assert story(animal) is None

    def test_the_paths_page_begins_with_the_wound(self, client, clinic, grafts, animal):  # noqa: F811
        path = plan(clinic, grafts, animal)
        round_wounds(clinic, animal, 40, 36, 32, 28, 24)
        client.force_login(clinic.vet)

        read = words(client.get(reverse("clinic:path", args=[path.pk])))

        assert "4.5 cm² on October 13, 64 % smaller than on September 15" in read
        assert "closes about November 24, 2026" in read

    def test_a_growing_wound_has_its_sentence_and_the_rest_of_the_page_stands(self, client, clinic, grafts, animal):  # noqa: F811
        path = plan(clinic, grafts, animal)
        round_wounds(clinic, animal, 30, 34)
        client.force_login(clinic.vet)

        read = words(client.get(reverse("clinic:path", args=[path.pk])))

        assert "28 % larger than" in read
        assert "no closing day is told" in read
        assert "60 heal after the skin graft" in read
