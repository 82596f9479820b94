"""What the care of one day is priced by, and what comes of it: a line with its figures."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from clinic.models import CareItem, Service
from clinic.queries.item_parts import ItemCosts
from clinic.queries.shelves import NOTHING, Shelves, Used
from clinic.queries.unit_prices import UnitPrice, UnitPrices
from ledger.formulas.slips import Slip


@dataclass(frozen=True)
class PricedLine:
    """One line of the day with its figures; `slip` is None when it cannot be charged yet, and `obstacle` says why."""

    service: Service
    quantity: Decimal
    slip: Slip | None
    obstacle: str
    remarks: tuple[str, ...]  # what the person who signs should see first
    used: Used = NOTHING  # what it takes from the shelf


class DayPrices:
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
