"""Paths from before the house opened, written down from paper, so that the clinic learns from its own cases at once.

Refusal
└── EarlierRefused
    ├── SinceTheOpening  a path since the opening is planned and decided here
    ├── OutOfOrder       a day before the one that comes before it, or after the end
    └── KeyUsedAgain     the key belongs to another animal
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import history
from clinic.actions.animals import next_number
from clinic.forms.path_steps import EarlierOperation
from clinic.models import Animal, House, PathStep, TreatmentPath, User
from config.refusal import Refusal

Part = PathStep.Part


class EarlierRefused(Refusal):
    """Nothing was written down."""


class SinceTheOpening(EarlierRefused):
    field = "ended_on"


class OutOfOrder(EarlierRefused):
    field = "parted_on"


class KeyUsedAgain(EarlierRefused):
    pass


@transaction.atomic
def remember(
    *,
    key: UUID,
    animal: str,
    species: str,
    name: str,
    parted_on: date,
    ended_on: date,
    ending: str,
    operations: Sequence[EarlierOperation],
    by: User,
    at: datetime,
) -> TreatmentPath:
    """Keep a path that ended before the house opened. It has results and an ending, and neither forecast nor money.

    The same key sent again returns the path it made.

    :raises SinceTheOpening: when it ended on or after the opening.
    :raises OutOfOrder: when its days do not follow each other.
    :raises KeyUsedAgain: when the key belongs to another animal's path.
    """
    known = TreatmentPath.objects.filter(key=key.hex).select_related("animal").first()
    if known:
        if (known.animal.name, known.name) == (animal, name):
            return known
        raise KeyUsedAgain("This form was sent before with another animal. Open it again; nothing was written.")
    opening = House.objects.get().opening_on
    if ended_on >= opening:
        raise SinceTheOpening(f"The house opened on {opening}. A path since then is planned and decided on its page.")
    days = [parted_on, *(one.done_on for one in operations), ended_on]
    if days != sorted(days):
        raise OutOfOrder("These days do not follow each other: the choice, the results, the end. Nothing was written.")
    patient = Animal.objects.create(key=key.hex, number=next_number(parted_on.year), name=animal, species=species)
    path = TreatmentPath.objects.create(
        key=key.hex,
        animal=patient,
        name=name,
        keeps="the limb",
        planned_by=by,
        planned_on=parted_on,
        planned_at=at,
        parted_on=parted_on,
        ended_on=ended_on,
        ending=ending,
    )
    PathStep.objects.bulk_create(
        [
            *(
                PathStep(
                    path=path,
                    part=Part.OPERATION,
                    position=position,
                    service=one.service,
                    done_on=one.done_on,
                    result=one.result,
                    complication=one.complication,
                    recorded_by=by,
                    recorded_at=at,
                )
                for position, one in enumerate(operations, start=1)
            ),
            *(PathStep(path=path, part=part) for part in (Part.AFTER_SUCCESS, Part.FALLBACK, Part.SINGLE)),
        ]
    )
    said = {"name": name, "ended_on": str(ended_on), "ending": ending}
    history.note(animal=patient, what="path", what_id=path.pk, by=by, at=at, after=said, why="from before the opening")
    return path
