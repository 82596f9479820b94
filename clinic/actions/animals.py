"""Admitting an animal at the door."""

from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction

from clinic.actions import approvals, history, photos
from clinic.models import Animal, BoardingLevel, Owner, Partner, Place, Stay, StayLevel, User
from clinic.queries import door
from config.refusal import Refusal
from config.uploads import KeptFile


class AdmittedInTheFuture(Refusal):
    field = "admitted_on"


class AlreadyAdmitted(Refusal):
    pass


class ChipKnown(Refusal):
    field = "chip"


class HoldWithoutEnd(Refusal):
    field = "owner_until"


class StayOverlaps(Refusal):
    field = "admitted_on"


class NoLevel(Refusal):
    field = "level"


@dataclass(frozen=True, kw_only=True)
class Who:
    """The animal as it is described at the door."""

    name: str
    species: str
    sex: str
    partner: Partner | None
    partner_number: str = ""
    born_on: date | None = None
    chip: str = ""
    about: str = ""
    warning: str = ""


@transaction.atomic
def admit(
    *,
    key: UUID,
    admitted_on: date,
    by: User,
    today: date,
    at: datetime,
    level: BoardingLevel | None = None,
    place: Place | None = None,
    owner: str = "",
    owner_until: date | None = None,
    photo: KeptFile | None = None,
    **who: Any,
) -> Stay:
    """Admit a new animal, `who` being the fields of `Who`; the same key sent again returns the stay that it made.

    Without a place or a level it lies and boards as the last of its kind. `owner` is one of `Owner.Kind`; empty
    takes the partner that brings it, else the practice.

    :raises AdmittedInTheFuture: when the day has not come yet.
    :raises AlreadyAdmitted: when the key was used for another animal.
    :raises ChipKnown: when an animal with that chip was here before.
    :raises HoldWithoutEnd: when it is on hold, and not until when.
    """
    said = Who(**who)
    known = Animal.objects.filter(key=key.hex).first()
    if known:
        return _same(known, said, admitted_on)
    _check_chip(said.chip)
    if owner == Owner.Kind.ON_HOLD and (owner_until is None or owner_until < admitted_on):
        raise HoldWithoutEnd("A hold ends on a day: write which, on or after the day it came. Nothing was saved.")
    animal = Animal.objects.create(key=key.hex, number=next_number(admitted_on.year), **vars(said))
    lies = {"level": level, "place": place, "admitted_for": said.about}
    stay = begin_stay(animal=animal, admitted_on=admitted_on, **lies, by=by, today=today, at=at)
    if owner:
        holds = {"kind": owner, "from_on": admitted_on, "until_on": owner_until, "words": ""}
        approvals.say_owner(key=uuid5(key, "owner"), animal=animal, **holds, by=by, at=at)
    if photo:
        photos.add(key=uuid5(key, "photo"), animal=animal, file=photo, taken_on=admitted_on, by=by, today=today, at=at)
    return stay


def _same(known: Animal, said: Who, admitted_on: date) -> Stay:
    stay = known.stays.earliest("admitted_on")
    kept = Who(**{field.name: getattr(known, field.name) for field in fields(Who)})
    if (kept, stay.admitted_on) != (said, admitted_on):
        raise AlreadyAdmitted(
            f"This form has already admitted {known.name or known.number}. Nothing was written twice; "
            "open a new form for another animal."
        )
    return stay


def _check_chip(chip: str) -> None:
    known = Animal.objects.filter(chip=chip).first() if chip else None
    if known:
        raise ChipKnown(
            f"This animal was here before: the chip is that of {known}. Open it and admit it again, or read the chip "
            "anew; nothing was saved."
        )


@transaction.atomic
def begin_stay(
    *,
    animal: Animal,
    admitted_on: date,
    by: User,
    today: date,
    at: datetime,
    level: BoardingLevel | None = None,
    place: Place | None = None,
    admitted_for: str = "",
) -> Stay:
    """Begin a stay of an animal that is known.

    :raises AdmittedInTheFuture: when the day has not come yet.
    :raises StayOverlaps: when the animal is in care then already.
    :raises NoLevel: when the house has no boarding level yet.

    Places may be shared, so a place is never refused.
    """
    if admitted_on > today:
        raise AdmittedInTheFuture(
            f"{admitted_on:%B} {admitted_on.day} has not come yet. Admit on the day of arrival; nothing was saved."
        )
    other = _overlapping(animal, admitted_on)
    if other:
        until = f"to {other.discharged_on}" if other.discharged_on else "and has not ended"
        raise StayOverlaps(
            f"{animal.name or animal.number} is in care already: that stay began on {other.admitted_on} {until}. "
            "Discharge it first, or correct the date; nothing was saved."
        )
    level = level or door.usual_level(species=animal.species)
    if level is None:
        raise NoLevel("There is no boarding level yet. Name the first under Rooms and levels; nothing was saved.")
    place = place or door.usual_place(species=animal.species)
    stay = Stay.objects.create(animal=animal, admitted_on=admitted_on, admitted_for=admitted_for, place=place)
    StayLevel.objects.create(stay=stay, level=level, from_on=admitted_on)
    history.note(
        animal=animal,
        what="stay",
        what_id=stay.pk,
        by=by,
        at=at,
        after={"admitted_on": str(admitted_on)},
        why=admitted_for,
    )
    return stay


def is_sent(*, key: UUID) -> bool:
    """Say whether a form has admitted its animal already."""
    return Animal.objects.filter(key=key.hex).exists()


def next_number(year: int) -> str:
    """Return the next clinic number of a year, such as 26-0311."""
    prefix = f"{year % 100:02d}-"
    last = Animal.objects.filter(number__startswith=prefix).order_by("-number").values_list("number", flat=True).first()
    return f"{prefix}{int(last.removeprefix(prefix)) + 1 if last else 1:04d}"


def _overlapping(animal: Animal, admitted_on: date) -> Stay | None:
    """Return a stay of the animal that an open stay from `admitted_on` would overlap."""
    for stay in animal.stays.order_by("admitted_on"):
        if stay.discharged_on is None or admitted_on < stay.discharged_on:
            return stay
    return None
