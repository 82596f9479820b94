"""The animals: those in care, or all, a page at a time."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from clinic.models import Animal, Stay
from clinic.queries import in_care

PAGE = 50


@dataclass(frozen=True)
class AnimalLine:
    id: int
    number: str
    name: str
    species: str
    partner: str
    partner_number: str
    place: str
    about: str
    day: int | None  # day of the present stay; None when it is not in care
    left_on: date | None
    left_to: str


@dataclass(frozen=True)
class Animals:
    lines: tuple[AnimalLine, ...]
    in_care: int
    all: int
    show: str  # "care" or "all"
    older: str  # the number to page on from; empty at the end


def animals(*, on: date, show: str = "care", before: str = "", partner_id: int | None = None) -> Animals:
    """List the animals in care on `on` in the order of the ward, or all by number, newest first."""
    mine = Q(animal__partner_id=partner_id) if partner_id else Q()
    counted = Stay.objects.filter(mine, admitted_on__lte=on, is_history=False).filter(
        Q(discharged_on__isnull=True) | Q(discharged_on__gt=on)
    )
    every = Animal.objects.filter(Q(partner_id=partner_id) if partner_id else Q())
    if show != "all":
        rows = [row for row in in_care.on(on) if partner_id in (None, row.stay.animal.partner_id)]
        return Animals(
            lines=tuple(_line(row.stay.animal, row.stay, on) for row in rows),
            in_care=counted.count(),
            all=every.count(),
            show="care",
            older="",
        )
    found = every.select_related("partner").order_by("-number")
    page = list((found.filter(number__lt=before) if before else found)[: PAGE + 1])
    last_stays = {
        stay.animal_id: stay
        for stay in Stay.objects.filter(animal__in=page[:PAGE]).select_related("place").order_by("admitted_on")
    }
    return Animals(
        lines=tuple(_line(animal, last_stays.get(animal.pk), on) for animal in page[:PAGE]),
        in_care=counted.count(),
        all=every.count(),
        show="all",
        older=page[PAGE - 1].number if len(page) > PAGE else "",
    )


def _line(animal: Animal, stay: Stay | None, on: date) -> AnimalLine:
    here = stay is not None and not stay.is_history and (stay.discharged_on is None or stay.discharged_on > on)
    return AnimalLine(
        id=animal.pk,
        number=animal.number,
        name=animal.name or "no name yet",
        species=animal.species,
        partner=animal.partner.name if animal.partner else "",
        partner_number=animal.partner_number,
        place=stay.place.code if here and stay.place else "",
        about=animal.about,
        day=(on - stay.admitted_on).days + 1 if here else None,
        left_on=stay.discharged_on if stay and not here else None,
        left_to=left_words(stay.left_to) if stay and not here else "",
    )


def left_words(left_to: str) -> str:
    return Stay.LeftTo(left_to).label if left_to in Stay.LeftTo.values else left_to
