"""A line of care with its three figures, as a slip for the ledger, or the reason why it cannot be charged yet (B9)."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from uuid import UUID

from clinic.formulas import group_shares, pricing, sheet_keys
from clinic.models import Animal, CareItem, GroupFact, Service
from clinic.queries import in_care, plan_keys
from clinic.queries.alike_items import charge_key
from clinic.queries.care_kinds import EXPENSE, traits_of
from clinic.queries.day_prices import DayPrices, PricedLine
from clinic.queries.shelf_prices import from_the_shelf
from clinic.queries.shelves import NOTHING
from clinic.queries.unit_prices import UnitPrice
from ledger.formulas import money
from ledger.formulas.slips import Slip

OLD_AFTER = timedelta(days=365)
SHARED = ("cost_minor", "usual_minor", "asked_minor", "goods_minor", "time_minor")
NO_LEVEL = Service(name="Boarding", kind=Service.Kind.BOARDING, unit="day")


def priced_line(
    *, animal: Animal, service: Service, quantity: Decimal, items: Sequence[CareItem], key: UUID, on: date
) -> PricedLine:
    """Price one line of care as it was on its day: what a correction puts in the place of another (B10)."""
    prices = DayPrices(on, {service.pk}, plan_keys.on_a_path(animals=[animal.pk], on=on), items)
    return _priced(animal=animal, service=service, quantity=quantity, items=items, key=key, prices=prices)


def boarding_line(row: in_care.InCare, *, late: bool, prices: DayPrices) -> PricedLine:
    """Price the night of an animal that lies on the ward."""
    animal = row.stay.animal
    if row.level is None:
        return PricedLine(NO_LEVEL, Decimal(1), None, "no boarding level is set for its stay", ())
    line = _priced(
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


def care_line(items: list[CareItem], *, prices: DayPrices) -> PricedLine:
    """Price the ticks that are charged alike; of what a whole group got, the animal's part."""
    first = items[0]
    if first.group_fact_id and first.group_fact:
        return _part(first, first.group_fact, prices=prices)
    return _priced(
        animal=first.animal,
        service=first.service,
        quantity=sum((item.quantity for item in items), Decimal(0)),
        items=items,
        key=charge_key(prices.on, items),
        prices=prices,
    )


def _part(item: CareItem, fact: GroupFact, *, prices: DayPrices) -> PricedLine:
    """Price what a group got once, and give the animal its part; the first of them takes it from the shelf."""
    is_first = fact.pk not in prices.wholes
    if is_first:
        prices.wholes[fact.pk] = _priced(
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


def _priced(
    *, animal: Animal, service: Service, quantity: Decimal, items: Sequence[CareItem], key: UUID, prices: DayPrices
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


def _remarks(service: Service, quantity: Decimal, item: CareItem | None, price: UnitPrice, on: date) -> tuple[str, ...]:
    remarks = []
    if item and item.late:
        remarks.append(f"late entry, {item.get_late_source_display()}")
    if quantity > service.usual_most:
        remarks.append(f"unusual quantity: {quantity.normalize():f}")
    if on - price.starts_on > OLD_AFTER:
        remarks.append(f"price of {price.starts_on:%B} {price.starts_on.year}, older than twelve months")
    return tuple(remarks)
