"""The story of one line of care in six steps: fact, by whom, signed off, price, payers with reasons, approval (H4)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

from clinic.formulas import sheet_keys
from clinic.models import Animal, BoardingDay, CareItem, House, ItemPart, Price, Service, Signing, StockMove
from clinic.queries.alike_items import charge_key, together
from clinic.queries.approvals import ApprovalLine, approvals_of
from clinic.queries.shelves import units
from config.units import with_unit
from ledger.queries import line_money as books
from ledger.queries.line_money import LineMoney


@dataclass(frozen=True)
class FactLine:
    """One tick or one night behind the line."""

    words: str
    quantity: Decimal
    by: str
    at: str
    given_by: str
    source: str
    order: str
    took: str = ""  # "Nurse 95 min (95, per further plate 1 × 30), Bone plate 2 plate"; empty where it was as planned


@dataclass(frozen=True)
class LotPart:
    """What the line took of a lot on the shelf, or had taken before it was corrected."""

    supply_id: int
    supply: str
    unit: str
    number: str
    arrived_on: date
    quantity: Decimal


@dataclass(frozen=True)
class LineStory:
    number: int
    animal_id: int
    animal: str
    money: LineMoney
    service: Service | None
    facts: tuple[FactLine, ...]
    items: tuple[CareItem, ...]
    signed_by: str
    signed_at: str
    price_since: date | None  # of the list that was in force on the day of care
    lots: tuple[LotPart, ...]
    approvals: tuple[ApprovalLine, ...]

    @property
    def care_on(self) -> date:
        return self.money.line.care_on

    @property
    def may_be_corrected(self) -> bool:
        return not self.money.taken_back

    @property
    def given_free(self) -> bool:
        return any(item.given_free for item in self.items)


def line_story(*, number: int, house: House) -> LineStory | None:
    """Return the story of the line of care whose entry this is, or None where it is none of an animal's here."""
    money = books.line_money(number=number)
    animal = Animal.objects.filter(key=money.line.subject_key).first() if money else None
    if money is None or animal is None:
        return None
    zone = ZoneInfo(house.time_zone)
    night = _night(animal, money)
    items = () if night else _items(animal, money.line.care_on, money.first_key)
    signing = night.signing if night else next((item.signing for item in items if item.signing), None)
    service = night.level.service if night else items[0].service if items else None
    return LineStory(
        number=number,
        animal_id=animal.pk,
        animal=animal.name or animal.number,
        money=money,
        service=service,
        facts=(_night_fact(night),) if night else tuple(_fact(item, zone) for item in items),
        items=items,
        signed_by=signing.by.name if signing else "",
        signed_at=_moment(signing, zone) if signing else "",
        price_since=_price_since(service, money.line.care_on) if service else None,
        lots=_lots(money.key),
        approvals=_approvals(animal, money),
    )


def _lots(charge_key: UUID) -> tuple[LotPart, ...]:
    moves = StockMove.objects.filter(charge_key=charge_key, kind=StockMove.Kind.USE)
    return tuple(
        LotPart(
            supply_id=move.lot.supply_id,
            supply=move.lot.supply.name,
            unit=move.lot.supply.unit,
            number=move.lot.number,
            arrived_on=move.lot.arrived_on,
            quantity=units(-move.quantity_millionths),
        )
        for move in moves.select_related("lot__supply").order_by("pk")
    )


def _approvals(animal: Animal, money: LineMoney) -> tuple[ApprovalLine, ...]:
    """The owner's yes to the path that the line belongs to, or else to this animal's care, as it stood by then."""
    said = [one for one in approvals_of(animal=animal) if one.given_on <= money.line.on]
    return tuple(one for one in said if bool(one.path_id) == bool(money.line.plan_key))


def _night(animal: Animal, money: LineMoney) -> BoardingDay | None:
    on = money.line.care_on
    if money.first_key != sheet_keys.boarding(on, animal_key=animal.key):
        return None
    nights = BoardingDay.objects.filter(animal=animal, on=on)
    return nights.select_related("level__service", "signing__by").first()


def _items(animal: Animal, on: date, first_key: UUID) -> tuple[CareItem, ...]:
    rows = CareItem.objects.filter(animal=animal, on=on, undone_at__isnull=True, signing__isnull=False)
    found = rows.select_related("service", "order", "recorded_by", "signing__by").order_by("recorded_at", "pk")
    found = found.prefetch_related("parts__grade", "parts__supply")
    return tuple(next((alike for alike in together(list(found)) if charge_key(on, alike) == first_key), ()))


def _fact(item: CareItem, zone: ZoneInfo) -> FactLine:
    return FactLine(
        words=item.service.name,
        quantity=item.quantity,
        by=item.recorded_by.name,
        at=f"{item.recorded_at.astimezone(zone):%B %-d, %-H:%M}",
        given_by=item.given_by,
        source=item.get_late_source_display() if item.late else "",
        order=str(item.order.words) if item.order and item.order.words else "",
        took=", ".join(_took(part) for part in item.parts.all() if part.quantity),
    )


def _took(part: ItemPart) -> str:
    if part.supply:
        return f"{part.supply.name} {with_unit(part.quantity, part.supply.unit)}"
    free = f"{part.free.normalize():f} of them given free" if part.free else ""
    detail = ", ".join(words for words in (part.words, free) if words)
    return f"{part.grade} {part.quantity.normalize():f} min" + (f" ({detail})" if detail else "")


def _night_fact(night: BoardingDay) -> FactLine:
    return FactLine(
        words=f"boarding day, {night.level.name}", quantity=Decimal(1), by="", at="", given_by="", source="", order=""
    )


def _moment(signing: Signing, zone: ZoneInfo) -> str:
    return f"{signing.at.astimezone(zone):%B %-d, %-H:%M}"


def _price_since(service: Service, on: date) -> date | None:
    rows = Price.objects.filter(service=service, starts_on__lte=on).order_by("starts_on")
    return rows.values_list("starts_on", flat=True).last()
