"""One animal's care that is written down and not yet signed off, priced as signing it off would."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from clinic.formulas import group_shares, pricing
from clinic.models import Animal, BoardingDay, CareItem, Service, StayLevel
from clinic.queries.care_kinds import EXPENSE
from clinic.queries.item_parts import ItemCosts
from clinic.queries.unit_prices import UnitPrices


@dataclass(frozen=True, kw_only=True)
class UnsignedLine:
    on: date
    words: str
    kind: str  # the books' kind of expense
    cost_minor: int
    usual_minor: int
    asked_minor: int


def unsigned_care(
    *, animal: Animal, since: date, until: date, currency: str, path_key: str = ""
) -> tuple[UnsignedLine, ...]:
    """Return the priced lines of each day from `since` to `until`; what has no price yet is left out.

    With `path_key` only what was written down as caused by that path, and no nights.
    """
    items = animal.care_items.filter(on__range=(since, until), undone_at__isnull=True, signing__isnull=True)
    items = items.filter(path_key=path_key) if path_key else items
    given = list(items.select_related("service", "group_fact"))
    facts: list[tuple[date, Service, CareItem | None]] = [(item.on, item.service, item) for item in given]
    nights = () if path_key else _nights(animal, since, until)
    facts = [*((on, service, None) for on, service in nights), *facts]
    prices = UnitPrices(services={service.pk for _, service, _ in facts}, until=until)
    took = ItemCosts(items=given, until=until)
    lines = (_line(*fact, prices, took, currency) for fact in facts)
    return tuple(sorted((line for line in lines if line), key=lambda line: line.on))


def _nights(animal: Animal, since: date, until: date) -> Iterator[tuple[date, Service]]:
    """Give each boarding day (B1) that is not signed off, at the level in force on it."""
    signed = set(BoardingDay.objects.filter(animal=animal, on__range=(since, until)).values_list("on", flat=True))
    for stay in animal.stays.filter(admitted_on__lte=until, is_history=False).exclude(discharged_on__lt=since):
        changes = StayLevel.objects.filter(stay=stay).select_related("level__service").order_by("from_on")
        levels = [(level.from_on, level.level.service) for level in changes]
        last = until if stay.discharged_on is None else max(stay.discharged_on - timedelta(days=1), stay.admitted_on)
        day = max(stay.admitted_on, since)
        while day <= min(last, until):
            service = next((service for from_on, service in reversed(levels) if from_on <= day), None)
            if service and day not in signed:
                signed.add(day)
                yield day, service
            day += timedelta(days=1)


def _line(
    on: date, service: Service, item: CareItem | None, prices: UnitPrices, took: ItemCosts, currency: str
) -> UnsignedLine | None:
    price = prices.on(service.pk, on)
    done = price and item and took.of([item], price.working)
    price = price.as_done(done) if price and done else price
    if price is None or price.obstacle:
        return None
    figures = pricing.charge(
        quantity=Fraction(item.group_fact.quantity if item.group_fact else item.quantity) if item else Fraction(1),
        cost=price.cost,
        usual_fee=price.usual_fee,
        asked=price.asked,
        currency=currency,
        **price.free_parts(given_free=bool(item and item.given_free)),
    )
    whole = group_shares.Shared(
        cost_minor=figures.cost_minor, usual_minor=figures.usual_minor, asked_minor=figures.asked_minor
    )
    fact = item.group_fact if item else None
    share = group_shares.parts(whole=whole, of=fact.count)[item.group_part] if fact else whole
    return UnsignedLine(
        on=on,
        words=service.name,
        kind=EXPENSE[Service.Kind(service.kind)],
        cost_minor=share.cost_minor,
        usual_minor=share.usual_minor,
        asked_minor=share.asked_minor,
    )
