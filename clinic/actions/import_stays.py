"""Brings a file of stays into the clinic: every good row, or none."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction

from clinic.forms.import_stays import StaysFile
from clinic.formulas.import_stays import StayRow
from clinic.models import Animal, House, ImportedFile, Stay
from clinic.queries import import_stays as query
from clinic.queries.import_stays import JudgedFile
from config.refusal import Refusal

Watched = Callable[[Sequence[Any]], Iterable[Any]]


class RowsRefused(Refusal):
    """Some rows cannot stand, and nobody said to keep the good ones."""


@transaction.atomic
def import_stays(*, file: StaysFile, copy: str, keep_good: bool, at: datetime, watched: Watched = iter) -> JudgedFile:
    """Write the file's good rows, each once however often the file is sent.

    `copy` says where the file's copy lies; `watched` may show how far the writing has come.

    :raises RowsRefused: when a row is refused and `keep_good` is not set; nothing is written.
    """
    judged = query.judge(file=file)
    if judged.refused and not keep_good:
        raise RowsRefused(
            f"{len(judged.refused):,} of {file.count:,} rows are refused, so nothing was written. Mend them, or "
            "bring in the others with --keep-good."
        )
    added = judged.judgment.accepted
    if not added:
        return judged
    animals = _animals(added)
    opening_on = House.objects.values_list("opening_on", flat=True).first()
    for rows in watched(list(query.pages(added))):
        Stay.objects.bulk_create(_stay(row, animals[row.animal_number], opening_on) for row in rows)
    ImportedFile.objects.create(
        kind=ImportedFile.Kind.STAYS,
        sha256=file.sha256,
        name=file.name[:200],
        size=len(file.content),
        copy=copy,
        rows=file.count,
        added=len(added),
        refused=len(judged.refused),
        at=at,
    )
    return judged


def _animals(rows: Sequence[StayRow]) -> dict[str, int]:
    """Return the ids of the rows' animals by number; those that are new are added as their first row tells."""
    first = {row.animal_number: row for row in reversed(rows)}
    ids: dict[str, int] = {}
    for numbers in query.pages(sorted(first)):
        ids.update(Animal.objects.filter(number__in=numbers).values_list("number", "pk"))
    fresh = [
        Animal(number=number, species=row.species, sex=row.sex, born_on=row.born_on)
        for number, row in first.items()
        if number not in ids
    ]
    for page in query.pages(fresh):
        ids.update((animal.number, animal.pk) for animal in Animal.objects.bulk_create(page))
    return ids


def _stay(row: StayRow, animal_id: int, opening_on: date | None) -> Stay:
    """Return the stay of a row; what began before the house opened is history, and so is all before it is set up."""
    return Stay(
        animal_id=animal_id,
        admitted_on=row.admitted_on,
        discharged_on=row.discharged_on,
        admitted_for=row.admitted_for,
        condition=row.condition,
        left_to=row.left_to,
        is_history=opening_on is None or row.admitted_on < opening_on,
    )
