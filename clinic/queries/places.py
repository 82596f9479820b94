"""Rooms with their places and who lies there, and the boarding levels."""

from dataclasses import dataclass
from datetime import date

from clinic.models import BoardingLevel, Room
from clinic.queries import in_care


@dataclass(frozen=True)
class PlaceLine:
    code: str
    lies: tuple[str, ...]


@dataclass(frozen=True)
class RoomLine:
    name: str
    places: tuple[PlaceLine, ...]


@dataclass(frozen=True)
class LevelLine:
    name: str
    minutes: int
    service_id: int


@dataclass(frozen=True)
class Places:
    rooms: tuple[RoomLine, ...]
    levels: tuple[LevelLine, ...]


def places(*, on: date) -> Places:
    lies: dict[str, list[str]] = {}
    for row in in_care.on(on):
        lies.setdefault(row.place, []).append(row.stay.animal.name or row.stay.animal.number)
    return Places(
        rooms=tuple(
            RoomLine(
                room.name,
                tuple(PlaceLine(place.code, tuple(lies.get(place.code, ()))) for place in room.places.all()),
            )
            for room in Room.objects.prefetch_related("places").order_by("position", "name")
        ),
        levels=tuple(
            LevelLine(level.name, level.service.standard_minutes, level.service_id)
            for level in BoardingLevel.objects.select_related("service").order_by("position", "name")
        ),
    )
