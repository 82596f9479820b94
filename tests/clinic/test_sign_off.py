"""Signing off a day: priced once, shared, posted and sealed, all at once or not at all."""

import uuid
from datetime import date, timedelta

import pytest

from clinic.actions import care, sign_off
from clinic.models import BoardingDay, CareItem, House, SheetRow, Signing
from clinic.queries import unsigned_days
from ledger.models import Entry, Fund, Posting
from ledger.queries import balances
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic():
    return make.open_clinic()


def test_the_worked_day_through_the_clinics_own_actions(clinic):
    """One day worked to the cent: boarding 24.00, dressing 12.00 (no goods were donated), two tablets 4.00.

    The leg's fund has 28.80: 24.00 for boarding, 4.80 for the dressing. Of the 7.20 left over the agreement pays
    2.88, the wound fund 4.32. Of the tablets' 4.00 the agreement pays 1.60, the partner's fund 1.00, general 1.40.
    """
    stay = clinic.admit()
    animal = stay.animal
    leg = make.fund(clinic, "animal", "Bracken's leg", subject_key=animal.key)
    wound = make.fund(clinic, "purpose", "Wound fund", purpose=["dressing"])
    yard = make.fund(clinic, "partner", "Brindle Yard fund", restricted=False, party_key=clinic.partner.key)
    general = Fund.objects.get(kind="general")
    clinic.gift(leg, 3000, fee_minor=120, way="giving_site")
    clinic.gift(wound, 5000)
    clinic.gift(yard, 100)
    clinic.gift(general, 20000)
    clinic.give(animal, clinic.dressing)
    clinic.give(animal, clinic.tablets, quantity="2")

    signed = clinic.sign()

    left = balances.balances()
    assert (signed.rows, signed.lines, signed.asked_minor) == (1, 3, 4000)
    assert (left[leg.pk], left[wound.pk], left[yard.pk], left[general.pk]) == (0, 4568, 0, 19860)
    assert BoardingDay.objects.get().on == DAY
    assert Entry.objects.filter(kind="charge").count() == 3
    assert set(Entry.objects.filter(kind="charge").values_list("on", flat=True)) == {DAY}


def test_a_line_without_a_price_stays_behind_and_the_rest_is_signed(clinic):
    from clinic.actions import services

    ready, waits = clinic.admit("Bracken").animal, clinic.admit("Minnow", species="cat").animal
    unpriced = services.add_service(code="sling", name="Sling walk", kind="care")
    clinic.give(waits, unpriced)

    preview = clinic.preview()
    signed = clinic.sign()

    assert [(row.name, row.why) for row in preview.behind] == [("Minnow", "Sling walk has no price on that day")]
    assert signed.rows == 1
    assert list(SheetRow.objects.values_list("animal", flat=True)) == [ready.pk]


def test_a_second_signature_is_refused_and_writes_nothing(clinic):
    clinic.admit()
    clinic.sign()
    before = (Entry.objects.count(), Posting.objects.count())

    with pytest.raises(sign_off.NothingToSign, match="nothing left to sign off"):
        clinic.sign()

    assert (Entry.objects.count(), Posting.objects.count()) == before


def test_the_same_signature_sent_twice_is_one(clinic):
    clinic.admit()
    facts = {
        "key": uuid.uuid4(), "on": DAY, "digest": clinic.preview().digest,
        "by": clinic.manager, "today": TODAY, "at": AT,
    }  # fmt: skip

    first, second = sign_off.sign(**facts), sign_off.sign(**facts)

    assert first.signing == second.signing
    assert Signing.objects.count() == 1
    assert Entry.objects.filter(kind="charge").count() == 1


def test_a_preview_that_has_changed_is_not_signed(clinic):
    stay = clinic.admit()
    read = clinic.preview().digest
    clinic.give(stay.animal, clinic.dressing)

    with pytest.raises(sign_off.PreviewChanged, match="Nothing was posted"):
        sign_off.sign(key=uuid.uuid4(), on=DAY, digest=read, by=clinic.manager, today=TODAY, at=AT)

    assert not Entry.objects.filter(kind="charge").exists()
    assert not SheetRow.objects.exists()


def test_a_gift_that_arrives_meanwhile_changes_the_preview(clinic):
    clinic.admit()
    read = clinic.preview().digest
    clinic.gift(Fund.objects.get(kind="general"), 100)

    with pytest.raises(sign_off.PreviewChanged):
        sign_off.sign(key=uuid.uuid4(), on=DAY, digest=read, by=clinic.manager, today=TODAY, at=AT)


def test_today_waits_for_the_evening(clinic):
    clinic.admit()

    with pytest.raises(sign_off.NotAllSeen, match="all in care seen"):
        clinic.sign(on=TODAY)
    clinic.see_all(TODAY)

    assert clinic.sign(on=TODAY).rows == 1


def test_a_day_that_has_not_come_is_not_signed(clinic):
    clinic.admit()

    with pytest.raises(sign_off.DayNotOver):
        clinic.sign(on=TODAY + timedelta(days=1))


def test_a_late_entry_is_charged_the_day_it_is_accepted_with_its_day_of_care_kept(clinic):
    animal = clinic.admit().animal
    clinic.sign()
    item = clinic.give(animal, clinic.tablets, today=TODAY, late_source="memory", given_by="not known")

    clinic.sign()

    charge = Entry.objects.filter(kind="charge").latest("id").charge
    assert (charge.care_on, charge.entry.on, charge.is_late) == (DAY, TODAY, True)
    item.refresh_from_db()
    assert item.signing is not None
    assert SheetRow.objects.count() == 1


def test_a_night_after_a_visit_that_was_signed_is_charged_late(clinic):
    """B1 and B10: it came for a visit, the day was signed, and then it stayed that night."""
    from clinic.actions import animals, stays
    from clinic.audit import audit

    stay = clinic.admit()
    stays.discharge(
        stay=stay, discharged_on=DAY - timedelta(days=1), left_to="foster", why="", by=clinic.vet, today=TODAY, at=AT
    )
    clinic.give(stay.animal, clinic.dressing)
    clinic.sign()
    animals.begin_stay(animal=stay.animal, admitted_on=DAY, level=clinic.standard, by=clinic.nurse, today=TODAY, at=AT)

    signed = clinic.sign()

    charge = Entry.objects.filter(kind="charge").latest("id").charge
    assert (signed.lines, charge.kind_id, charge.care_on, charge.entry.on) == (1, "boarding", DAY, TODAY)
    assert (BoardingDay.objects.get(on=DAY).animal, SheetRow.objects.count()) == (stay.animal, 1)
    assert audit().findings == ()


def test_what_was_taken_back_is_not_charged(clinic):
    animal = clinic.admit().animal
    item = clinic.give(animal, clinic.tablets)
    care.undo(item=item, by=clinic.nurse, at=AT)

    signed = clinic.sign()

    assert signed.lines == 1
    with pytest.raises(care.RowSigned, match="signed off"):
        care.undo(item=item, by=clinic.nurse, at=AT)


def test_time_given_free_is_asked_of_nobody(clinic):
    from decimal import Decimal

    from clinic.actions import prices, services

    animal = clinic.admit().animal
    minutes = services.add_service(code="nurse", name="Nurse, extra time", kind="staff_time", unit="minute")
    prices.set_price(
        service=minutes, starts_on=date(2026, 7, 1), cost=Decimal("0.55"), usual_fee=Decimal("1.20"),
        asked=Decimal("0.70"), by=clinic.manager, at=AT,
    )  # fmt: skip
    clinic.give(animal, minutes, quantity="15", given_free=True)

    line = clinic.preview().rows[0].lines[1]

    assert (line.cost_minor, line.usual_minor, line.asked_minor) == (825, 1800, 0)


def test_the_days_that_wait_are_counted_until_they_are_signed(clinic):
    house = House.objects.get()
    clinic.admit(on=DAY - timedelta(days=1))

    before = unsigned_days.waiting(today=TODAY, house=house)
    clinic.sign(DAY)
    after = unsigned_days.waiting(today=TODAY, house=house)

    assert [(day.on, day.rows) for day in before] == [(DAY - timedelta(days=1), 1), (DAY, 1), (TODAY, 1)]
    assert [day.on for day in after] == [DAY - timedelta(days=1), TODAY]


def test_every_undone_and_signed_fact_is_kept(clinic):
    animal = clinic.admit().animal
    care.undo(item=clinic.give(animal, clinic.tablets), by=clinic.nurse, at=AT)
    clinic.sign()

    assert CareItem.objects.filter(signing__isnull=False, undone_at__isnull=False).count() == 1
    assert animal.changes.filter(what="care item").count() == 2
