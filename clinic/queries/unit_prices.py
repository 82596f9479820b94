"""The price of a service on a day, in three exact figures per unit, however its list says to come by them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from clinic.formulas import pricing
from clinic.models import Price
from clinic.queries.unit_costs import UnitCost, UnitCosts


@dataclass(frozen=True)
class UnitPrice:
    """The three figures of one unit; not rounded before the charge."""

    service_id: int
    starts_on: date
    cost: Fraction
    usual_fee: Fraction
    asked: Fraction
    donated: Fraction
    currency: str
    asked_from: str
    percent: Fraction
    working: UnitCost | None  # of a computed cost
    free_time: Fraction = Fraction(0)  # of the cost: work that nobody is paid for

    @property
    def obstacle(self) -> str:
        """Say why it cannot be charged; empty when it can."""
        return self.working.obstacle if self.working else ""

    @property
    def is_computed(self) -> bool:
        return self.working is not None

    def free_parts(self, *, given_free: bool) -> dict[str, Fraction]:
        """Return what of the cost came free (C2), and of it what was work; a typed cost counts as work."""
        goods = min(self.donated, self.cost)
        if given_free:
            time = self.working.time if self.working else self.cost - goods
        else:
            time = min(self.free_time, self.cost - goods)
        return {"free": goods + time, "free_time": time}

    def worked_out(self, working: UnitCost) -> UnitPrice:
        """Return the price with a computed cost of its own, as a line has that was done otherwise than planned."""
        new = replace(self, working=working, cost=working.amount, donated=working.goods, free_time=working.free_time)
        return replace(new, asked=new._share() if self.asked_from != Price.AskedFrom.TYPED else self.asked)

    def as_done(self, took: UnitCost) -> UnitPrice:
        """Return the price of a line for which it was written down what it took; a typed cost stays as typed."""
        return self.worked_out(took) if self.is_computed else replace(self, free_time=took.free_time)

    def _share(self) -> Fraction:
        of = self.cost if self.asked_from == Price.AskedFrom.COST else self.usual_fee
        return pricing.asked_share(percent=self.percent, of=of, usual_fee=self.usual_fee)


class UnitPrices:
    """The prices of some services on any day up to `until`: one read, and `UnitCosts` where a cost is computed."""

    def __init__(self, *, services: Collection[int], until: date) -> None:
        self._rows: dict[int, list[UnitPrice]] = defaultdict(list)
        rows = Price.objects.filter(service__in=services, starts_on__lte=until).order_by("-starts_on")
        computed = set()
        for service, starts_on, cost_from, asked_from, percent, currency, *amounts in rows.values_list(
            "service",
            "starts_on",
            "cost_from",
            "asked_from",
            "asked_percent",
            "asked_currency",
            "cost",
            "usual_fee",
            "asked",
            "donated",
        ):
            figures = [Fraction(amount or 0) for amount in amounts]
            working = _TO_COME if cost_from == Price.CostFrom.COMPUTED else None
            made = UnitPrice(service, starts_on, *figures, currency, asked_from, Fraction(percent or 0), working)
            if working:
                computed.add(service)
            elif asked_from != Price.AskedFrom.TYPED:
                made = replace(made, asked=made._share())
            self._rows[service].append(made)
        self._costs = UnitCosts(services=computed, until=until) if computed else None
        self._found: dict[tuple[int, date], UnitPrice | None] = {}

    def on(self, service: int, day: date) -> UnitPrice | None:
        if (service, day) not in self._found:
            self._found[service, day] = self._look_up(service, day)
        return self._found[service, day]

    def _look_up(self, service: int, day: date) -> UnitPrice | None:
        price = next((row for row in self._rows.get(service, ()) if row.starts_on <= day), None)
        if price is None or price.working is None or self._costs is None:
            return price
        return price.worked_out(self._costs.of(service, on=day))


_TO_COME = UnitCost((), "")
