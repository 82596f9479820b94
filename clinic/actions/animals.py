"""Admitting an animal at the door."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import history
from clinic.models import Animal, BoardingLevel, Partner, Place, Stay, StayLevel, User
from config.refusal import Refusal


class AdmittedInTheFuture(Refusal):
    field = "admitted_on"


class AlreadyAdmitted(Refusal):
    pass


class PlaceTaken(Refusal):
    field = "place"


class StayOverlaps(Refusal):
    field = "admitted_on"


@transaction.atomic
def admit(
    *,
    key: UUID,
    name: str,
    species: str,
    sex: str,
    admitted_on: date,
    level: BoardingLevel,
    partner: Partner | None,
    by: User,
    today: date,
    at: datetime,
    partner_number: str = "",
    born_on: date | None = None,
    chip: str = "",
    about: str = "",
    warning: str = "",
    place: Place | None = None,
) -> Stay:
    """Admit a new animal; the same key sent again returns the stay that it made.

    :raises AdmittedInTheFuture: when the day has not come yet.
    :raises AlreadyAdmitted: when the key was used for another animal.
    """
    known = Animal.objects.filter(key=key.hex).first()
    if known:
        stay = known.stays.earliest("admitted_on")
        kept = (known.name, known.species, known.sex, known.partner_id, known.partner_number, known.born_on)
        kept += (known.chip, known.about, known.warning, stay.admitted_on)
        said = (name, species, sex, partner and partner.pk, partner_number, born_on, chip, about, warning, admitted_on)
        if kept != said:
            raise AlreadyAdmitted(
                f"This form has already admitted {known.name or known.number}. Nothing was written twice; "
                "open a new form for another animal."
            )
        return stay
    animal = Animal.objects.create(
        key=key.hex,
        number=next_number(admitted_on.year),
        partner=partner,
        partner_number=partner_number,
        name=name,
        species=species,
        sex=sex,
        born_on=born_on,
        chip=chip,
        about=about,
        warning=warning,
    )
    return begin_stay(
        animal=animal, admitted_on=admitted_on, level=level, place=place, admitted_for=about, by=by, today=today, at=at
    )


@transaction.atomic
def begin_stay(
    *,
    animal: Animal,
    admitted_on: date,
    level: BoardingLevel,
    by: User,
    today: date,
    at: datetime,
    place: Place | None = None,
    admitted_for: str = "",
) -> Stay:
    """Begin a stay of an animal that is known.

    :raises AdmittedInTheFuture: when the day has not come yet.
    :raises StayOverlaps: when the animal is in care then already.
    :raises PlaceTaken: never; places may be shared.
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
