"""The audit of care must be able to fail: each promise, broken behind the guards, is named in a sentence."""

import json
import re
import uuid
from datetime import date, timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from clinic import audit as care
from clinic.actions import care as doing
from clinic.actions import earlier_paths, groups, observations, path_reviews, prices, stays, supplies
from clinic.forms.observed import WoundSaid
from clinic.forms.path_steps import EarlierOperation
from clinic.formulas import sheet_keys
from clinic.models import Grade, ItemPart
from clinic.promises import PROMISES
from config import triggers
from ledger.actions import charges
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY

pytestmark = pytest.mark.django_db

BEFORE, LATER = DAY - timedelta(days=60), AT + timedelta(days=1)
MOVE = 'INSERT INTO clinic_stockmove (lot_id, kind, "on", quantity_millionths, cost, donated, by_id, at)'
# A part of each sentence, and the damage that it must name. Where a constraint of the table would refuse the damage,
# it is done to a copy without constraints which stands in front of the table for as long as the test.
DAMAGE = {
    "is not the sum of its parts": "UPDATE clinic_groupfact SET quantity = quantity + 1",
    "mix two methods": (
        "copy clinic_woundreading; UPDATE clinic_woundreading SET method = 'traced'"
        " WHERE id = (SELECT min(id) FROM clinic_woundreading)"
    ),
    "What happened on path": "UPDATE clinic_pathevent SET care_item_id = (SELECT min(id) FROM clinic_careitem)",
    "has a result although one before it healed": "UPDATE clinic_pathstep SET result = 'healed' WHERE result <> ''",
    "overlap: one began on": (
        "INSERT INTO clinic_stay (animal_id, admitted_on, discharged_on, is_history, admitted_for, condition, left_to,"
        f" left_why, left_with) SELECT animal_id, '{DAY}', '{TODAY}', FALSE, '', '', '', '', '' FROM clinic_stay"
        " WHERE discharged_on IS NULL"
    ),
    "ends before it begins": f"copy clinic_stay; UPDATE clinic_stay SET discharged_on = '{BEFORE}'",
    "boarding days on": (
        "copy clinic_boardingday; INSERT INTO clinic_boardingday SELECT * FROM clinic_boardingday LIMIT 1"
    ),
    "lies outside its stay": f"UPDATE clinic_boardingday SET \"on\" = '{BEFORE}'",
    "not among the boarding days": "DELETE FROM clinic_boardingday",
    "is signed off, but its row is not": "DELETE FROM clinic_sheetrow",
    "its fact {} is not sealed": "UPDATE clinic_careitem SET signing_id = NULL",
    "is sealed, but its row is not signed off": "DELETE FROM clinic_sheetrow",
    "is sealed by a signature for": f"UPDATE clinic_signing SET \"on\" = '{TODAY}'",
    "was taken back after it was signed off": (
        f"UPDATE clinic_careitem SET undone_at = '{LATER:%Y-%m-%d %H:%M:%S}' WHERE signing_id IS NOT NULL"
    ),
    "does not say where it comes from": "copy clinic_careitem; UPDATE clinic_careitem SET late_source = ''",
    "counts {}": "copy clinic_careitem; UPDATE clinic_careitem SET quantity = 0",
    "had been signed off": (
        f"UPDATE clinic_price SET starts_on = '{DAY}', set_at = '{LATER:%Y-%m-%d %H:%M:%S}' WHERE starts_on = '{TODAY}'"
    ),
    "where the usual fee is": "copy clinic_price; UPDATE clinic_price SET asked = usual_fee + 1",
    "houses": "copy clinic_house; INSERT INTO clinic_house SELECT * FROM clinic_house",
    "The fact {} of animal {} has no line in the history": "DELETE FROM clinic_change WHERE what = 'care item'",
    "The observation {} of animal {} has no line": "DELETE FROM clinic_change WHERE what = 'observation'",
    "Of lot {} came {}": "UPDATE clinic_supplylot SET left_millionths = left_millionths - 1",
    "Lot {} cost {}": "UPDATE clinic_supplylot SET cost_minor = cost_minor + 1",
    "is kept as donated": "UPDATE clinic_supplylot SET left_donated = left_cost",
    "is left of lot {}, with {} of its money": (
        "copy clinic_supplylot; UPDATE clinic_supplylot SET left_donated = left_cost + 1"
    ),
    "Leveling the lots": f"{MOVE} SELECT id, 'average', '{DAY}', 0, 5, 0, by_id, at FROM clinic_supplylot",
    "before it arrived on": (
        f"{MOVE.replace('by_id', 'charge_key, by_id')} SELECT id, 'use', '{BEFORE}', -1, 0, 0, '{'0' * 32}', by_id, at"
        " FROM clinic_supplylot"
    ),
    "puts back another quantity": (
        f"{MOVE.replace('by_id', 'charge_key, back_of_id, by_id')} SELECT lot_id, 'back', '{DAY}', 1, 0, 0,"
        f" '{'0' * 32}', id, by_id, at FROM clinic_stockmove"
    ),
    "were expected, but {} was moved": "UPDATE clinic_stockcount SET found_millionths = 0",
    "was changed, and the history does not say so": "UPDATE clinic_careitem SET quantity = 3",
    "taken back or put back": "UPDATE clinic_careitem SET undone_at = NULL WHERE undone_at IS NOT NULL",
    "not those that the history tells": f"UPDATE clinic_stay SET discharged_on = '{TODAY}' WHERE discharged_on IS NULL",
    "are said to be given free": "copy clinic_itempart; UPDATE clinic_itempart SET free = quantity + 1",
    "has no charge in the books": "UPDATE clinic_animal SET key = 'another ' || id",
    "without a signed fact": "UPDATE clinic_careitem SET undone_at = recorded_at WHERE quantity = 2",
    "the signed facts say": "UPDATE clinic_careitem SET quantity = 3 WHERE quantity = 2",
}


@pytest.fixture
def lived():
    """A signed day with a dressing, tablets given twice, one taken back, a late entry signed after, and a note."""
    clinic = make.open_clinic()
    animal = clinic.admit("Bracken").animal
    left = clinic.admit("Minnow", species="cat", partner=False)
    gauze = supplies.add_supply(name="Gauze", unit="piece")
    make.shelf(clinic, gauze)
    make.count(clinic, gauze, "9", why="torn")
    clinic.give(animal, clinic.dressing)
    clinic.give(animal, clinic.tablets)
    written = clinic.give(animal, clinic.tablets)
    ItemPart.objects.create(care_item=written, grade=Grade.objects.create(name="Nurse"), quantity=Decimal(4))
    clinic.give(animal, clinic.tablets, quantity="2", given_free=True)
    doing.undo(item=clinic.give(animal, clinic.dressing), by=clinic.nurse, at=AT)
    doing.observe(
        key=uuid.uuid4(), animal=animal, on=DAY, kind="note", words="Ate it all.", by=clinic.nurse, today=DAY, at=AT
    )
    cared_for_on_a_path(clinic, animal)
    members = [clinic.admit(name).animal for name in ("Ash", "Birch", "Cedar")]
    by = {"by": clinic.nurse, "today": DAY, "at": AT}
    group = groups.form(key=uuid.uuid4(), name="Litter", members=members, **by)
    groups.give(key=uuid.uuid4(), group=group, on=DAY, service=clinic.dressing, **by)
    clinic.sign()
    clinic.give(animal, clinic.tablets, today=TODAY, late_source="memory", given_by="not known")
    clinic.sign()
    stays.discharge(stay=left, discharged_on=TODAY, left_to="foster", why="", by=clinic.vet, today=TODAY, at=AT)
    prices.set_price(
        service=clinic.dressing, starts_on=TODAY, cost=Decimal(10), usual_fee=Decimal(26), asked=Decimal(13),
        by=clinic.manager, at=AT,
    )  # fmt: skip
    return clinic


def cared_for_on_a_path(clinic, animal) -> None:
    """Two readings of a wound, and a path from before the opening on which something happened."""
    for day in (DAY - timedelta(days=1), DAY):
        said = WoundSaid(wound="hock", method="axes", length_mm=Decimal(40), width_mm=Decimal(30))
        observations.read_wound(key=uuid.uuid4(), animal=animal, said=said, on=day, by=clinic.nurse, today=DAY, at=AT)
    day = date(2025, 3, 1)
    results = [
        EarlierOperation(service=clinic.surgery, done_on=day, result=result) for result in ("not_healed", "healed")
    ]
    path = earlier_paths.remember(
        key=uuid.uuid4(), animal="Sorrel", species="dog", name="the hock", parted_on=day, ended_on=day,
        ending="healed", operations=results, by=clinic.vet, at=AT,
    )  # fmt: skip
    path_reviews.record_event(
        key=uuid.uuid4(), path=path, kind="injury", on=day, words="toes swollen", by=clinic.nurse, today=DAY, at=AT
    )


def damage(statement: str) -> None:
    """Break a promise where no person could: behind the triggers, or in front of a table's constraints."""
    copy, _, rest = statement.rpartition("; ")
    with connection.cursor() as cursor:
        if copy:
            table = copy.removeprefix("copy ")
            cursor.execute(f"CREATE TEMPORARY TABLE {table} AS SELECT * FROM {table}")
            cursor.execute(rest)
            return
    triggers.lift(connection, "clinic")
    with connection.cursor() as cursor:
        cursor.execute(statement)
    triggers.install(connection, "clinic")


def test_what_was_lived_through_the_actions_keeps_every_promise(lived):
    assert care.audit() == care.Audit(checks=len(PROMISES) + 4, findings=())


@pytest.mark.parametrize("said", DAMAGE)
def test_a_broken_promise_is_named(lived, said):
    damage(DAMAGE[said])

    named = re.escape(said).replace(r"\{\}", ".*")
    assert [finding for finding in care.audit().findings if re.search(named, finding)]


def test_no_promise_goes_without_its_damage():
    assert [sentence for sentence, _ in PROMISES if not any(said in sentence for said in DAMAGE)] == []


def test_a_missing_guard_is_named(lived):
    with connection.cursor() as cursor:
        where = " ON clinic_careitem" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER clinic_careitem_kept{where}")

    findings = care.audit().findings
    triggers.install(connection, "clinic")

    assert findings == ("The trigger clinic_careitem_kept on clinic_careitem is missing or not as it was written.",)


def test_the_keys_of_charges_are_computed_as_the_standard_says():
    """RFC 9562, A.4 (published): the UUID of version 5 of www.example.com in the space of domain names."""
    space = uuid.NAMESPACE_DNS.bytes

    assert care._named(space, "www.example.com") == "2ed6657d-e927-568b-95e1-2665a8aea6a2"
    assert care._key(str(DAY), "boarding x") == str(sheet_keys.boarding(DAY, animal_key="x"))


def test_a_corrected_line_stands_for_its_fact(lived):
    charge = charges.Charge.objects.filter(quantity_thousandths=2000).first()

    charges.correct(
        key=uuid.uuid4(), charge_id=charge.pk, slip=None, by=lived.manager.pk, today=TODAY, at=AT, why="Typed wrong."
    )

    assert care.audit().findings == ()


def run() -> tuple[int, dict]:
    out = StringIO()
    try:
        call_command("audit_books", "--json", stdout=out)
        status = 0
    except SystemExit as left:
        status = left.code
    return status, json.loads(out.getvalue())


def test_the_command_says_so_and_leaves_with_1(lived):
    whole = run()
    damage("UPDATE clinic_careitem SET quantity = 3 WHERE quantity = 2")
    broken = run()

    assert whole[0] == 0 and whole[1]["findings"] == [] and whole[1]["checks"] > len(PROMISES) + 20
    assert broken[0] == 1 and any("history does not say so" in sentence for sentence in broken[1]["findings"])


def test_the_command_speaks_in_sentences(lived):
    out = StringIO()
    call_command("audit_books", stdout=out)

    assert "promises asked again: every one is kept." in out.getvalue()
