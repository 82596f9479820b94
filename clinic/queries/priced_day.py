"""The priced facts of a day: each line of care with its three figures, ready to be charged.

What is ready becomes a slip for the ledger; what is not stays behind with its reason, and the rest of the
day does not wait for it (B9).
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from uuid import UUID

from clinic.formulas import group_shares, pricing, sheet_keys
from clinic.models import Animal, BoardingDay, CareItem, GroupFact, House, Service, SheetRow, Stay
from clinic.queries import in_care, plan_keys
from clinic.queries.item_parts import ItemCosts
from clinic.queries.shelf_prices import from_the_shelf
from clinic.queries.shelves import NOTHING, Shelves, Used
from clinic.queries.unit_prices import UnitPrice, UnitPrices
from ledger.formulas import money
from ledger.formulas.slips import Slip

# Which of the books' kinds of expense a service falls under.
EXPENSE = {
    Service.Kind.BOARDING: "boarding",
    Service.Kind.DRESSING: "supplies",
    Service.Kind.MEDICATION: "supplies",
    Service.Kind.VACCINE: "supplies",
    Service.Kind.CARE: "staff_time",
    Service.Kind.EXAM: "staff_time",
    Service.Kind.STAFF_TIME: "staff_time",
    Service.Kind.IMAGING: "procedures",
    Service.Kind.PROCEDURE: "procedures",
    Service.Kind.LABORATORY: "outside_services",
    Service.Kind.OUTSIDE: "outside_services",
}
OLD_AFTER = timedelta(days=365)


@dataclass(frozen=True)
class PricedLine:
    """One line of the day with its figures; `slip` is None when it cannot be charged yet, and `obstacle` says why."""

    service: Service
    quantity: Decimal
    slip: Slip | None
    obstacle: str
    remarks: tuple[str, ...]  # what the person who signs should see first
    used: Used = NOTHING  # what it takes from the shelf


@dataclass(frozen=True)
class PricedRow:
    animal: Animal
    stay: Stay | None
    level_id: int | None
    place: str
    lines: tuple[PricedLine, ...]
    obstacle: str  # why the whole row stays behind; empty when it is ready
    boards: bool  # a night is among the lines
    late: bool  # the row was signed before: these are late entries

    @property
    def short_of(self) -> int | None:
        """The supply that is counted short, where that is what holds the row back."""
        blocked = next((line for line in self.lines if line.obstacle), None)
        return blocked.used.short.supply_id if blocked and blocked.used.short else None


def priced_day(*, on: date) -> tuple[PricedRow, ...]:
    """Price every unsigned fact of `on`, row by row in the order of the ward; days before the opening are history."""
    if House.objects.filter(opening_on__gt=on).exists():
        return ()
    signed = set(SheetRow.objects.filter(sheet__on=on).values_list("animal_id", flat=True))
    boarded = {row.stay.animal_id: row for row in in_care.on(on, boards_only=True)}
    items = _items(on, {row.stay.animal_id: row.stay.animal for row in boarded.values()})
    plans = plan_keys.on_a_path(animals={*boarded, *items}, on=on)
    services = {item.service_id for found in items.values() for item in found}
    services |= {row.level.service_id for row in boarded.values() if row.level}
    prices = _Prices(on, services, plans, [item for found in items.values() for item in found])

    # A night can come after its row was signed: the animal was there for a visit, and then stayed.
    nights = _nights(on) if signed & boarded.keys() else set()
    ordered = [row.stay.animal for row in boarded.values()]
    ordered += [found[0].animal for animal_id, found in items.items() if animal_id not in boarded]
    rows = []
    for sharing in who_share(ordered, items):
        untouched = prices.shelves.mark()
        made = [
            _row(animal, boarded.get(animal.pk), items, boards=animal.pk not in nights, signed=signed, prices=prices)
            for animal in sharing
        ]
        held = next((row for row in made if row and row.obstacle), None)
        if held:
            prices.shelves.back_to(untouched)
        rows += [_held_with(row, held) for row in made if row]
    return tuple(rows)


def _row(
    animal: Animal,
    lies: in_care.InCare | None,
    items: dict[int, list[CareItem]],
    *,
    boards: bool,
    signed: set[int],
    prices: "_Prices",
) -> PricedRow | None:
    lines, late = [], animal.pk in signed
    if lies and boards:
        lines.append(_boarding(lies, late=late, prices=prices))
    lines += [_care(alike, prices=prices) for alike in together(items.get(animal.pk, []))]
    if not lines:
        return None
    return PricedRow(
        animal=animal,
        stay=lies.stay if lies else None,
        level_id=lies.level.pk if lies and lies.level else None,
        place=lies.place if lies else "",
        lines=tuple(lines),
        obstacle=next((line.obstacle for line in lines if line.obstacle), ""),
        boards=lies is not None and boards,
        late=late,
    )


def _held_with(row: PricedRow, held: PricedRow | None) -> PricedRow:
    """Hold a row back with the one it shares a fact with: the parts of a whole are signed off together."""
    if held is None or row.obstacle:
        return row
    return replace(row, obstacle=f"it shares what {held.animal.name or held.animal.number} got: {held.obstacle}")


def who_share(animals: Sequence[Animal], items: dict[int, list[CareItem]]) -> list[list[Animal]]:
    """Put the animals together that share a fact; nearly all stand alone."""
    first: dict[int, int] = {}  # of a whole: where its animals stand
    found: list[list[Animal]] = []
    for animal in animals:
        wholes = {item.group_fact_id for item in items.get(animal.pk, ()) if item.group_fact_id}
        if not wholes:
            found.append([animal])
            continue
        places = sorted({first[whole] for whole in wholes if whole in first})
        at = places[0] if places else len(found)
        if at == len(found):
            found.append([])
        found[at].append(animal)
        for other in places[1:]:
            found[at] += found[other]
            found[other] = []
        first = {whole: at if place in places else place for whole, place in first.items()} | dict.fromkeys(wholes, at)
    return [sharing for sharing in found if sharing]


def priced_line(
    *, animal: Animal, service: Service, quantity: Decimal, items: Sequence[CareItem], key: UUID, on: date
) -> PricedLine:
    """Price one line of care as it was on its day: what a correction puts in the place of another (B10)."""
    prices = _Prices(on, {service.pk}, plan_keys.on_a_path(animals=[animal.pk], on=on), items)
    return _line(animal=animal, service=service, quantity=quantity, items=items, key=key, prices=prices)


def _nights(on: date) -> set[int]:
    return set(BoardingDay.objects.filter(on=on).values_list("animal_id", flat=True))


def _items(on: date, boarded: dict[int, Animal]) -> dict[int, list[CareItem]]:
    """Return the unsigned facts of `on` by animal, each with its service and its animal; few are of visitors."""
    found: dict[int, list[CareItem]] = defaultdict(list)
    items = CareItem.objects.filter(on=on, undone_at__isnull=True, signing__isnull=True)
    wholes: set[int] = set()
    for item in items.select_related("service").order_by("recorded_at", "pk"):
        found[item.animal_id].append(item)
        if item.group_fact_id:
            wholes.add(item.group_fact_id)
    facts = GroupFact.objects.in_bulk(wholes) if wholes else {}
    visitors = found.keys() - boarded.keys()
    animals = Animal.objects.select_related("partner").in_bulk(visitors) if visitors else {}
    for animal_id, given in found.items():
        for item in given:
            item.animal = boarded.get(animal_id) or animals[animal_id]
            if item.group_fact_id:
                item.group_fact = facts[item.group_fact_id]
    return found


class _Prices:
    """The prices in force on a day for the services that it needs, what is on the shelf, and its animals' paths."""

    def __init__(self, on: date, services: set[int], plans: dict[int, str], items: Sequence[CareItem]) -> None:
        self.on, self.plans = on, plans
        self._prices = UnitPrices(services=services, until=on)
        self._took = ItemCosts(items=items, until=on)
        self.wholes: dict[int, PricedLine] = {}  # what a group got, priced once
        self.shelves = Shelves(on=on, services=services, further=self._took.supplies)

    def of(self, service: Service, items: Sequence[CareItem]) -> UnitPrice | None:
        """Return the price of one unit: as planned, or as the items were done."""
        price = self._prices.on(service.pk, self.on)
        took = price and self._took.of(items, price.working)
        return price.as_done(took) if price and took else price

    def use(self, service: Service, quantity: Decimal, items: Sequence[CareItem]) -> Used:
        """Take from the shelf what the line used: its kit, or what was written down for its items."""
        needed = self._took.needed(items, self.shelves.kits.get(service.pk, ()))
        return self.shelves.use(service_id=service.pk, quantity=quantity, needed=needed)


def _boarding(row: in_care.InCare, *, late: bool, prices: _Prices) -> PricedLine:
    animal = row.stay.animal
    if row.level is None:
        return PricedLine(_NO_LEVEL, Decimal(1), None, "no boarding level is set for its stay", ())
    line = _line(
        animal=animal,
        service=row.level.service,
        quantity=Decimal(1),
        items=(),
        key=sheet_keys.boarding(prices.on, animal_key=animal.key),
        prices=prices,
    )
    if late and line.slip:
        return replace(line, slip=replace(line.slip, late=True), remarks=("admitted after its row was signed",))
    return line


_NO_LEVEL = Service(name="Boarding", kind=Service.Kind.BOARDING, unit="day")


def together(items: Sequence[CareItem]) -> list[list[CareItem]]:
    """Put the ticks of one service that are charged alike into one line: "Tablets x 2" is rounded once (C4)."""
    groups: dict[tuple, list[CareItem]] = defaultdict(list)
    for item in items:
        alike = (
            item.service_id, item.given_free, item.emergency, item.path_key, item.late_source, item.signing_id,
            item.group_fact_id,
        )  # fmt: skip
        groups[alike].append(item)
    return list(groups.values())


def charge_key(on: date, items: Sequence[CareItem]) -> UUID:
    return sheet_keys.charge(on, item_keys=[item.key for item in items])


def _care(items: list[CareItem], *, prices: _Prices) -> PricedLine:
    first = items[0]
    if first.group_fact_id and first.group_fact:
        return _part(first, first.group_fact, prices=prices)
    return _line(
        animal=first.animal,
        service=first.service,
        quantity=sum((item.quantity for item in items), Decimal(0)),
        items=items,
        key=charge_key(prices.on, items),
        prices=prices,
    )


def _part(item: CareItem, fact: GroupFact, *, prices: _Prices) -> PricedLine:
    """Price what a group got once, and give the animal its part; the first of them takes it from the shelf."""
    is_first = fact.pk not in prices.wholes
    if is_first:
        prices.wholes[fact.pk] = _line(
            animal=item.animal, service=item.service, quantity=fact.quantity, items=[item],
            key=charge_key(prices.on, [item]), prices=prices,
        )  # fmt: skip
    whole, animal = prices.wholes[fact.pk], item.animal
    used = whole.used if is_first else NOTHING
    if whole.slip is None:
        return replace(whole, quantity=item.quantity, used=used)
    figures = group_shares.Shared(**{name: getattr(whole.slip, name) for name in SHARED})
    share = group_shares.parts(whole=figures, of=fact.count)[item.group_part or 0]
    slip = replace(
        whole.slip,
        **{name: getattr(share, name) for name in SHARED},
        key=charge_key(prices.on, [item]),
        subject_key=animal.key,
        party_key=animal.partner.key if animal.partner else "",
        plan_key=item.path_key or prices.plans.get(animal.pk, ""),
        traits=frozenset(_traits(animal, item.service, item)),
        subject_words=animal.name or animal.number,
        words=f"{item.service.name}, shared by {fact.count}",
        quantity=item.quantity,
    )
    return PricedLine(item.service, item.quantity, slip, "", whole.remarks, used)


SHARED = ("cost_minor", "usual_minor", "asked_minor", "goods_minor", "time_minor")


def _line(
    *, animal: Animal, service: Service, quantity: Decimal, items: Sequence[CareItem], key: UUID, prices: _Prices
) -> PricedLine:
    item = items[0] if items else None
    price = prices.of(service, items)
    if price is None:
        return PricedLine(service, quantity, None, f"{service.name} has no price on that day", ())
    used = prices.use(service, quantity, items)
    if used.short:
        return PricedLine(service, quantity, None, used.short.words, (), used)
    price = from_the_shelf(price, used, quantity=Fraction(quantity))
    if price.obstacle:
        return PricedLine(service, quantity, None, f"{service.name} cannot be priced: {price.obstacle}", ())
    figures = pricing.charge(
        quantity=Fraction(quantity),
        cost=price.cost,
        usual_fee=price.usual_fee,
        asked=price.asked,
        currency=price.currency,
        **price.free_parts(given_free=bool(item and item.given_free)),
    )
    goods = (
        money.half_up(used.donated)
        if used.supplies
        else money.to_minor(price.donated * Fraction(quantity), price.currency)
    )
    slip = Slip(
        key=key,
        subject_key=animal.key,
        party_key=animal.partner.key if animal.partner else "",
        plan_key=(item.path_key if item else "") or prices.plans.get(animal.pk, ""),
        kind=EXPENSE[Service.Kind(service.kind)],
        traits=frozenset(_traits(animal, service, item)),
        care_on=prices.on,
        words=service.name,
        subject_words=animal.name or animal.number,
        quantity=quantity,
        unit=service.unit,
        cost_minor=figures.cost_minor,
        usual_minor=figures.usual_minor,
        asked_minor=figures.asked_minor,
        goods_minor=goods,
        time_minor=min(figures.time_minor, max(figures.usual_minor - figures.asked_minor - goods, 0)),
        late=bool(item and item.late),
    )
    return PricedLine(service, quantity, slip, "", _remarks(service, quantity, item, price, prices.on), used)


def _traits(animal: Animal, service: Service, item: CareItem | None) -> set[str]:
    traits = traits_of(animal, service)
    return traits | {"emergency"} if item and item.emergency else traits


def traits_of(animal: Animal, service: Service) -> set[str]:
    """Return the codes that funds and agreements match; a code holds no space."""
    return {*service.traits, service.kind, f"species:{animal.species.replace(' ', '-')}"}


def _remarks(service: Service, quantity: Decimal, item: CareItem | None, price: UnitPrice, on: date) -> tuple[str, ...]:
    remarks = []
    if item and item.late:
        remarks.append(f"late entry, {item.get_late_source_display()}")
    if quantity > service.usual_most:
        remarks.append(f"unusual quantity: {quantity.normalize():f}")
    if on - price.starts_on > OLD_AFTER:
        remarks.append(f"price of {price.starts_on:%B} {price.starts_on.year}, older than twelve months")
    return tuple(remarks)
