"""Attacks on a signed-off row and on stays: refused by the database on either engine, rows unchanged."""

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from clinic.models import BoardingDay, CareItem, Change, SheetRow, Signing, Stay, WardSheet
from tests.clinic import make
from tests.clinic.make import DAY

pytestmark = pytest.mark.django_db

SEALED = (CareItem, BoardingDay, SheetRow, Signing, WardSheet, Change)


@pytest.fixture
def signed():
    clinic = make.open_clinic()
    stay = clinic.admit(on=DAY - timedelta(days=2))
    clinic.give(stay.animal, clinic.dressing)
    clinic.see_all(DAY)
    clinic.sign(on=DAY)
    return clinic, stay


def everything() -> dict[str, list[tuple]]:
    return {model.__name__: sorted(model.objects.values_list(), key=str) for model in (*SEALED, Stay)}


def sql(statement: str, *values: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def bulk_update() -> None:
    item = CareItem.objects.get()
    item.quantity = 2
    CareItem.objects.bulk_update([item], ["quantity"])


def upsert() -> None:
    day = BoardingDay.objects.get()
    twin = BoardingDay(animal=day.animal, on=day.on, stay=day.stay, level=day.level, signing=day.signing)
    BoardingDay.objects.bulk_create(
        [twin], update_conflicts=True, unique_fields=["animal", "on"], update_fields=["signing"]
    )


def one_more_fact() -> None:
    item = CareItem.objects.get()
    CareItem.objects.create(
        key=uuid.uuid4(), animal=item.animal, on=item.on, service=item.service, quantity=1,
        recorded_by=item.recorded_by, recorded_at=timezone.now(),
    )  # fmt: skip


def born_signed() -> None:
    item = CareItem.objects.get()
    CareItem.objects.create(
        key=uuid.uuid4(), animal=item.animal, on=item.on, service=item.service, quantity=1, late=True,
        late_source="paper", recorded_by=item.recorded_by, recorded_at=timezone.now(), signing=item.signing,
    )  # fmt: skip


def moved_into_the_row() -> None:
    item = CareItem.objects.get()
    other = CareItem.objects.create(
        key=uuid.uuid4(), animal=item.animal, on=item.on + timedelta(days=1), service=item.service, quantity=1,
        recorded_by=item.recorded_by, recorded_at=timezone.now(),
    )  # fmt: skip
    CareItem.objects.filter(pk=other.pk).update(on=item.on)


ATTACKS = {
    "update of a quantity": lambda: CareItem.objects.update(quantity=9),
    "bulk_update": bulk_update,
    "upsert of a boarding day": upsert,
    "save of a fact": lambda: CareItem.objects.get().save(),
    "delete of a fact": lambda: CareItem.objects.all()._raw_delete("default"),
    "delete of a boarding day": lambda: BoardingDay.objects.all()._raw_delete("default"),
    "delete of a row": lambda: SheetRow.objects.all()._raw_delete("default"),
    "raw update": lambda: sql("UPDATE clinic_careitem SET signing_id = NULL"),
    "raw delete": lambda: sql("DELETE FROM clinic_signing"),
    "raw update of the sheet": lambda: sql("UPDATE clinic_wardsheet SET id = 99"),
    "raw update of the history": lambda: sql("UPDATE clinic_change SET why = 'other'"),
    "raw delete of the history": lambda: sql("DELETE FROM clinic_change"),
    "one more fact in a signed row": one_more_fact,
    "a fact born signed": born_signed,
    "a fact moved into a signed row": moved_into_the_row,
}


@pytest.mark.parametrize("name", ATTACKS)
def test_a_signed_row_withstands(signed, name):
    before = everything()

    with pytest.raises(IntegrityError), transaction.atomic():
        ATTACKS[name]()

    assert everything() == before


@pytest.mark.skipif(connection.vendor != "sqlite", reason="REPLACE is SQLite's own")
@pytest.mark.parametrize("recursive", ["ON", "OFF"])
@pytest.mark.parametrize("model", [BoardingDay, SheetRow, Signing, CareItem, WardSheet])
def test_replace_by_each_unique_key_withstands(signed, model, recursive):
    row = model.objects.values_list(*[field.column for field in model._meta.concrete_fields]).first()
    columns = [field.column for field in model._meta.concrete_fields]
    before = everything()
    sql(f"PRAGMA recursive_triggers = {recursive}")
    try:
        for by_id in (True, False):
            taken = columns if by_id else columns[1:]
            values = row if by_id else row[1:]
            words = ", ".join(f'"{column}"' for column in taken)
            holes = ", ".join("%s" for _ in taken)
            with pytest.raises(IntegrityError), transaction.atomic():
                sql(f"INSERT OR REPLACE INTO {model._meta.db_table} ({words}) VALUES ({holes})", *map(_plain, values))
    finally:
        sql("PRAGMA recursive_triggers = ON")

    assert everything() == before


def _plain(value: object) -> object:
    return value.hex if isinstance(value, uuid.UUID) else str(value) if value is not None else None


@pytest.mark.skipif(connection.vendor != "postgresql", reason="TRUNCATE is PostgreSQL's own")
@pytest.mark.parametrize("model", SEALED)
def test_truncate_withstands(signed, model):
    before = everything()
    connection.check_constraints()  # what is deferred would stop a TRUNCATE before the trigger does

    with pytest.raises(IntegrityError), transaction.atomic():
        sql(f"TRUNCATE {model._meta.db_table} CASCADE")

    assert everything() == before


OVERLAPS = {
    "the same days": (0, None),
    "begun before, still open": (-3, None),
    "begun within": (1, None),
    "in and out within": (1, 1),
    "over its whole length": (-3, 30),
}


@pytest.mark.parametrize("name", OVERLAPS)
def test_the_database_refuses_overlapping_stays(signed, name):
    _, stay = signed
    begin, end = OVERLAPS[name]
    twin = Stay(
        animal=stay.animal,
        admitted_on=stay.admitted_on + timedelta(days=begin),
        discharged_on=None if end is None else stay.admitted_on + timedelta(days=end),
    )

    with pytest.raises(IntegrityError), transaction.atomic():
        Stay.objects.bulk_create([twin])

    assert Stay.objects.count() == 1


def test_stays_that_only_touch_are_no_overlap(signed):
    _, stay = signed
    earlier = stay.admitted_on - timedelta(days=4)

    Stay.objects.create(animal=stay.animal, admitted_on=earlier, discharged_on=stay.admitted_on)

    assert Stay.objects.count() == 2


def test_a_stay_does_not_shrink_away_from_a_signed_night(signed):
    _, stay = signed

    with pytest.raises(IntegrityError), transaction.atomic():
        Stay.objects.filter(pk=stay.pk).update(discharged_on=DAY)

    assert Stay.objects.get().discharged_on is None
