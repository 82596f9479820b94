"""Who is in care on a day, at which boarding level and where."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from clinic.models import BoardingLevel, Stay, StayLevel


@dataclass(frozen=True)
class InCare:
    stay: Stay  # with its animal, partner, place and room read along
    level: BoardingLevel | None

    @property
    def place(self) -> str:
        return self.stay.place.code if self.stay.place else ""

    @property
    def room(self) -> str:
        return self.stay.place.room.name if self.stay.place else "No place yet"


def on(day: date, *, boards_only: bool = False, animals: Collection[int] | None = None) -> tuple[InCare, ...]:
    """Return the animals in care on `day`, or those of `animals`, in the order of the ward: by room, place, then name.

    An animal that came and left on that day is in care; one that left that day after an earlier admission is
    on the sheet until it leaves, but makes no boarding day: `boards_only` leaves it out (B1).
    """
    stays_on = Q(discharged_on__isnull=True) | Q(discharged_on__gt=day)
    leaves = Q(discharged_on=day, admitted_on=day) if boards_only else Q(discharged_on=day)
    stays = (
        Stay.objects.filter(admitted_on__lte=day, is_history=False)
        .filter(stays_on | leaves)
        .select_related("animal__partner", "animal__group", "place__room")
    )
    if animals is not None:
        stays = stays.filter(animal__in=animals)
    return tuple(sorted(with_levels(stays, day), key=_ward_order))


def with_levels(stays: Iterable[Stay], day: date) -> list[InCare]:
    """Join each stay with the level it boards at on `day`, in one further read."""
    stays = list(stays)
    levels: dict[int, BoardingLevel] = {}
    rows = StayLevel.objects.filter(stay__in=stays, from_on__lte=day).select_related("level__service")
    for row in rows.order_by("from_on"):
        levels[row.stay_id] = row.level
    return [InCare(stay=stay, level=levels.get(stay.pk)) for stay in stays]


def _ward_order(row: InCare) -> tuple[bool, int, int, str, str]:
    place = row.stay.place
    return (
        place is None,
        place.room.position if place else 0,
        place.position if place else 0,
        row.stay.animal.name,
        row.stay.animal.number,
    )
