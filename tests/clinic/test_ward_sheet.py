"""What a tap answers is what the whole sheet shows: its kits, read alone, are those of the animal's row."""

import re
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from clinic.actions import care, orders
from clinic.formulas.rounds import ROUNDS
from clinic.models import CareItem, House, Order
from clinic.queries import ward_sheet
from tests.clinic import make
from tests.clinic.make import AT, TODAY

ONE_MORE = r'name="again" value="([^"]+)"'
HOURS = {"morning": 8, "midday": 12, "evening": 17, "night": 22}
some_rounds = st.lists(st.sampled_from(ROUNDS), min_size=1, unique=True)
an_order = st.fixed_dictionaries(
    {
        "animal": st.integers(0, 2),
        "medication": st.booleans(),
        "rounds": some_rounds,
        "every_days": st.integers(1, 4),
        "begun": st.integers(0, 6),
        "given": st.lists(st.sampled_from(("today", "earlier", "taken back")), max_size=3),
    }
)


class AnyState(TestCase):
    """Three animals under any orders, given or not, one perhaps signed off, at any hour of the day or of a past one."""

    @settings(max_examples=40)
    @given(
        said=st.lists(an_order, max_size=6), hour=st.sampled_from(sorted(HOURS.values())), back=st.integers(0, 2),
        signed=st.booleans(),
    )  # fmt: skip
    def test_the_kits_read_alone_are_those_of_the_whole_sheet(self, said, hour, back, signed):
        clinic = make.open_clinic()
        animals = [clinic.admit(name).animal for name in ("Bracken", "Ballast", "Sorrel")]
        on = TODAY - timedelta(days=back)
        for one in said:
            self.order(clinic, animals[one["animal"]], on, one)
        if signed and back:
            clinic.sign(on=on)
        moment = datetime(2026, 10, 14, hour, 5, tzinfo=UTC)
        shown = {"on": on, "today": TODAY, "moment": moment, "house": House.objects.get()}

        sheet = ward_sheet.ward_sheet(**shown)
        alone = [ward_sheet.kits(animal=animal, **shown) for animal in animals]
        some = ward_sheet.excerpt(animals=[animal.pk for animal in animals], **shown)

        assert sorted(some.rows, key=lambda row: row.animal_id) == sorted(sheet.rows, key=lambda row: row.animal_id)
        rows = {row.animal_id: row for row in sheet.rows}
        for kits in alone:
            row = rows[kits.animal_id]
            assert (kits.dues, kits.name, kits.signed) == (row.dues, row.name, row.signed)
            assert self.html(sheet, row) == self.html(ward_sheet.Excerpt(on=on, today=TODAY), kits)
        assert sheet.made == sum(kits.made for kits in alone)
        assert sheet.ordered == sum(kits.ordered for kits in alone)
        assert sheet.now_due == sum(len(kits.now_due) for kits in alone)
        assert sheet.overdue == sum(kits.overdue for kits in alone)

    def order(self, clinic, animal, on, one) -> None:
        service = clinic.tablets if one["medication"] else clinic.dressing
        order = orders.give(
            key=uuid.uuid4(), animal=animal, service=service, rounds=one["rounds"], every_days=one["every_days"],
            starts_on=on - timedelta(days=one["begun"]), by=clinic.vet, at=AT,
        )  # fmt: skip
        for when, name in zip(one["given"], order.rounds, strict=False):
            day = max(on - timedelta(days=when == "earlier"), order.starts_on)
            item = clinic.give(animal, service, on=day, order=order, round=name)
            if when == "taken back":
                care.undo(item=item, by=clinic.nurse, at=AT)

    def html(self, sheet, kits) -> str:
        shown = render_to_string("clinic/ward_sheet/_kits.html", {"sheet": sheet, "kits": kits, "opened": 0})
        return re.sub(ONE_MORE, "", shown)  # of each showing its own


@pytest.fixture
def ward(client, db, settings):
    settings.AS_OF = "2026-10-14"
    clinic = make.open_clinic()
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    return clinic


def tap(client, order: Order, **more):
    said = {"key": str(uuid.uuid4()), "order": order.pk, "round": order.rounds[0], **more}
    return client.post(reverse("clinic:tick", args=[TODAY]), said, headers={"HX-Request": "true"})


def test_a_tap_answers_with_its_own_kits_and_nothing_of_the_others(ward, client):
    first, other = (ward.admit(name).animal for name in ("Bracken", "Ballast"))
    ward.order(other, ward.dressing, ["midday"])

    answer = tap(client, ward.order(first, ward.dressing, ["midday"]))

    assert answer.status_code == 200
    said = answer.content.decode()
    assert said.lstrip().startswith(f'<div class="doing" id="doing-{first.pk}" data-made="1" data-ordered="1"')
    assert "given, PQ" in said
    assert "Ballast" not in said


def test_one_more_counts_once_of_a_showing_and_each_showing_has_its_own(ward, client):
    order = ward.order(ward.admit("Bracken").animal, ward.dressing, ["midday"])

    def shown() -> str:
        return re.search(ONE_MORE, client.get(reverse("clinic:ward_sheet", args=[TODAY])).content.decode())[1]

    one, other = shown(), shown()  # two tablets, or one page read anew before what was tapped on it had arrived
    for key in (one, one, other):
        said = {"again": key, "order": order.pk}
        client.post(reverse("clinic:again", args=[TODAY]), said, headers={"HX-Request": "true"})

    assert CareItem.objects.count() == 2
    assert {str(item.key) for item in CareItem.objects.all()} == {one, other}


def test_what_others_wrote_is_told_by_the_next_look_though_somebody_tapped_meanwhile(ward, client):
    """A tap's answer moves nobody's mark: else what another person wrote just before it would never be shown."""
    mine, theirs = (ward.admit(name).animal for name in ("Bracken", "Ballast"))
    order = ward.order(mine, ward.dressing, ["midday"])
    before = ward_sheet.last_change()
    ward.give(theirs, ward.tablets, on=TODAY)

    answer = tap(client, order).content.decode()
    look = client.get(reverse("clinic:since", args=[TODAY, before]), {"round": "midday"}).content.decode()

    assert "sheet-since" not in answer
    assert f'id="animal-{theirs.pk}"' in look
    assert f'data-since="/ward/2026-10-14/since/{ward_sheet.last_change()}/?round=midday"' in look


def test_a_tap_asks_the_same_however_long_the_past_and_full_the_ward(ward, client):
    animal = ward.admit().animal
    order = ward.order(animal, ward.dressing, ["midday"], starts_on=TODAY - timedelta(days=9))
    tap(client, order)  # the first tap of a day makes its sheet
    with CaptureQueriesContext(connection) as few:
        tap(client, order)
    for number in range(8):
        other = ward.admit(f"Animal {number}").animal
        ward.order(other, ward.dressing, ["midday"])
        ward.give(animal, ward.dressing, on=TODAY - timedelta(days=number + 1), order=order, round="midday")

    with CaptureQueriesContext(connection) as many:
        tap(client, order)
    assert len(many) == len(few) <= 20
    assert CareItem.objects.filter(on=TODAY, order=order).count() == 3
