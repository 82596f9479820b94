"""What each supply costs on a day, and which kits it stands in."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from clinic.models import Supply, SupplyPrice
from clinic.queries.shelves import kit_names
from clinic.queries.written import FINER, at_least
from ledger.queries import holder


@dataclass(frozen=True)
class SupplyLine:
    supply_id: int
    name: str
    unit: str
    cost: Decimal | None
    starts_on: date | None
    next_on: date | None
    kits: str


def supply_prices(*, on: date) -> tuple[SupplyLine, ...]:
    """Return every supply with its cost on `on`, by name."""
    digits = holder.holder().digits
    now: dict[int, SupplyPrice] = {}
    later: dict[int, date] = {}
    for price in SupplyPrice.objects.order_by("starts_on"):
        if price.starts_on <= on:
            now[price.supply_id] = price
        else:
            later.setdefault(price.supply_id, price.starts_on)
    kits = kit_names()
    return tuple(
        SupplyLine(
            supply_id=supply.pk,
            name=supply.name,
            unit=supply.unit,
            cost=at_least(Fraction(now[supply.pk].cost.amount), digits, FINER) if supply.pk in now else None,
            starts_on=now[supply.pk].starts_on if supply.pk in now else None,
            next_on=later.get(supply.pk),
            kits=kits.get(supply.pk, ""),
        )
        for supply in Supply.objects.order_by("name")
    )
