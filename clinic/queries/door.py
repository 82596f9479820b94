"""What the door needs to know: where one of a kind usually lies and boards, and who was here before."""

from dataclasses import dataclass
from datetime import date

from clinic.models import Animal, BoardingLevel, Partner, Place, Stay, StayLevel
from clinic.queries.animals import left_words


@dataclass(frozen=True)
class KnownAnimal:
    id: int
    name: str
    number: str
    species: str
    same: str  # what makes it the same: "the chip", "the partner's number"
    in_care: bool
    left_on: date | None
    left_to: str


def usual_place(*, species: str) -> Place | None:
    """Return the first free place of the room where the last of its kind lay, or None where none is free."""
    last = (
        Stay.objects.filter(animal__species=species, place__isnull=False)
        .order_by("-admitted_on", "-pk")
        .select_related("place")
        .first()
    )
    if last is None:
        return None
    taken = Stay.objects.filter(discharged_on=None, place__isnull=False).values("place")
    return Place.objects.filter(room=last.place.room_id).exclude(pk__in=taken).order_by("position").first()


def usual_level(*, species: str) -> BoardingLevel | None:
    """Return the level at which the last of its kind was admitted, else the first of all."""
    last = StayLevel.objects.filter(stay__animal__species=species).order_by("-stay__admitted_on", "-stay", "from_on")
    first = last.select_related("level__service").first()
    return first.level if first else BoardingLevel.objects.order_by("position", "pk").first()


def known_animals(*, chip: str, partner: Partner | None, partner_number: str) -> tuple[KnownAnimal, ...]:
    """Return who was here before under the same chip, or under the same number of the same partner."""
    found: dict[int, tuple[Animal, str]] = {}
    if partner and partner_number:
        for animal in Animal.objects.filter(partner=partner, partner_number__iexact=partner_number).order_by("pk"):
            found[animal.pk] = (animal, "the partner’s number")
    if chip:
        for animal in Animal.objects.filter(chip=chip).order_by("pk"):
            found[animal.pk] = (animal, "the chip")
    return tuple(_known(animal, same) for animal, same in found.values())


def _known(animal: Animal, same: str) -> KnownAnimal:
    last = animal.stays.order_by("admitted_on", "pk").last()
    return KnownAnimal(
        id=animal.pk,
        name=animal.name or "no name yet",
        number=animal.number,
        species=animal.species,
        same=same,
        in_care=last is not None and last.discharged_on is None,
        left_on=last.discharged_on if last else None,
        left_to=left_words(last.left_to) if last else "",
    )
