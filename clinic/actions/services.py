"""The services, boarding levels, kits, rooms and partners that the clinic works with."""

from datetime import date
from decimal import Decimal

from django.db import transaction

from clinic.models import BoardingLevel, Kit, KitLine, Partner, Place, Room, Service, Supply
from config.refusal import Refusal


class CodeTaken(Refusal):
    field = "code"


class NameTaken(Refusal):
    field = "name"


class PlaceTaken(Refusal):
    field = "places"


@transaction.atomic
def add_service(
    *,
    code: str,
    name: str,
    kind: str,
    unit: str = "each",
    traits: list[str] | None = None,
    standard_minutes: int = 0,
    room_minutes: int = 0,
    usual_most: int = 12,
) -> Service:
    """Add a service; its kind is always among its traits, so that a purpose fund can name it.

    :raises CodeTaken: when another service has that code.
    """
    known = Service.objects.filter(code=code).first()
    if known:
        if (known.name, known.kind) == (name, kind):
            return known
        raise CodeTaken(f"The code {code!r} belongs to {known.name}. Choose another.")
    if Service.objects.filter(name__iexact=name, retired_on__isnull=True).exists():
        raise NameTaken(f"{name} is on the price list already. Choose another name.")
    return Service.objects.create(
        code=code,
        name=name,
        kind=kind,
        unit=unit,
        traits=sorted({kind, *(traits or [])}),
        standard_minutes=standard_minutes,
        room_minutes=room_minutes,
        usual_most=usual_most,
    )


@transaction.atomic
def add_boarding_level(*, code: str, name: str, position: int, standard_minutes: int = 0) -> BoardingLevel:
    service = add_service(
        code=code,
        name=f"Boarding, {name.lower()}",
        kind=Service.Kind.BOARDING,
        unit="day",
        standard_minutes=standard_minutes,
        usual_most=1,
    )
    level, _ = BoardingLevel.objects.get_or_create(service=service, defaults={"name": name, "position": position})
    return level


@transaction.atomic
def fill_kit(*, service: Service, supplies: list[tuple[str, str, str, Decimal]]) -> Kit:
    """Say which supplies (code, name, unit, quantity) go together in a service."""
    kit, _ = Kit.objects.get_or_create(service=service)
    kit.lines.all().delete()
    for code, name, unit, quantity in supplies:
        supply, _ = Supply.objects.get_or_create(code=code, defaults={"name": name, "unit": unit})
        KitLine.objects.create(kit=kit, supply=supply, quantity=quantity)
    return kit


@transaction.atomic
def add_partner(
    *, name: str, since_on: date, short_name: str = "", email: str = "", phone: str = "", address: str = ""
) -> Partner:
    """Add a rescue partner.

    :raises NameTaken: when a partner of that name is there already.
    """
    if Partner.objects.filter(name__iexact=name).exists():
        raise NameTaken(f"{name} is among the partners already.")
    return Partner.objects.create(
        name=name, since_on=since_on, short_name=short_name, email=email, phone=phone, address=address
    )


@transaction.atomic
def add_room(*, name: str, position: int, places: list[str]) -> Room:
    """Add a room with its places in order, or further places to a room that is there.

    :raises PlaceTaken: when a code stands in another room.
    """
    taken = Place.objects.filter(code__in=places).exclude(room__name=name).values_list("code", flat=True).first()
    if taken:
        raise PlaceTaken(f"The place {taken} stands in another room. Choose another code; nothing was saved.")
    room, _ = Room.objects.get_or_create(name=name, defaults={"position": position})
    for number, code in enumerate(places):
        Place.objects.get_or_create(code=code, defaults={"room": room, "position": number})
    return room
