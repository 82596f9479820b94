"""What one unit of a service costs by its minutes and its kit, on a day, with the working."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from clinic.formulas import time_costs
from clinic.formulas.shelves import MILLION
from clinic.models import GradeCost, GradeMinutes, KitLine, SupplyLot, SupplyPrice
from ledger.queries import holder


@dataclass(frozen=True)
class CostLine:
    """One part of a cost: so much of something at what one of it costs; without a rate it has no cost on the day."""

    words: str
    quantity: Fraction
    unit: str
    rate: Fraction | None
    is_time: bool
    part_id: int  # of the grade, or of the supply
    free: Fraction = Fraction(0)  # of the amount

    @property
    def amount(self) -> Fraction:
        return self.quantity * (self.rate or 0)


@dataclass(frozen=True)
class UnitCost:
    """The cost of one unit with its working; where `obstacle` says why there is none, the amount is no cost."""

    lines: tuple[CostLine, ...]
    obstacle: str

    @property
    def amount(self) -> Fraction:
        return sum((line.amount for line in self.lines), Fraction(0))

    @property
    def time(self) -> Fraction:
        return sum((line.amount for line in self.lines if line.is_time), Fraction(0))

    @property
    def free_time(self) -> Fraction:
        return sum((line.free for line in self.lines if line.is_time), Fraction(0))

    @property
    def goods(self) -> Fraction:
        """The part of it that comes as donated goods."""
        return sum((line.free for line in self.lines if not line.is_time), Fraction(0))


class Dated:
    """Values by key, each from a date on; answers with the last that had begun on a day."""

    def __init__(self, rows: Iterable[tuple[int, date, Fraction]]) -> None:
        self._days: dict[int, list[date]] = defaultdict(list)
        self._values: dict[int, list[Fraction]] = defaultdict(list)
        for key, starts_on, value in sorted(rows, key=lambda row: row[1]):
            self._days[key].append(starts_on)
            self._values[key].append(value)

    def on(self, key: int, day: date) -> Fraction | None:
        place = bisect_right(self._days.get(key, ()), day)
        return self._values[key][place - 1] if place else None


class UnitCosts:
    """The computed costs of some services on any day up to `until`: four reads, however many services and days."""

    def __init__(self, *, services: Collection[int], until: date) -> None:
        self._minutes: dict[int, list[tuple[int, str, Fraction]]] = defaultdict(list)
        minutes = GradeMinutes.objects.filter(service__in=services).order_by("grade__name")
        for service, grade, name, each in minutes.values_list("service", "grade", "grade__name", "minutes"):
            self._minutes[service].append((grade, name, Fraction(each)))
        self._kit: dict[int, list[tuple[int, str, str, Fraction]]] = defaultdict(list)
        kit = KitLine.objects.filter(kit__service__in=services).order_by("pk")
        for service, *line, quantity in kit.values_list(
            "kit__service", "supply", "supply__name", "supply__unit", "quantity"
        ):
            self._kit[service].append((line[0], line[1], line[2], Fraction(quantity)))
        self._rates = grade_rates(until=until)
        supplies = {supply for lines in self._kit.values() for supply, *_ in lines}
        self._listed = supply_rates(supplies=supplies, until=until)

    def of(self, service: int, *, on: date) -> UnitCost:
        """Return what one unit costs on a day, as it is planned."""
        time = [
            CostLine(name, each, "min", self._rates.on(grade, on), True, grade)
            for grade, name, each in self._minutes.get(service, ())
        ]
        kit = [
            CostLine(name, quantity, unit, self._listed.on(supply, on), False, supply)
            for supply, name, unit, quantity in self._kit.get(service, ())
        ]
        return unit_cost([*time, *kit])


def unit_cost(lines: Collection[CostLine]) -> UnitCost:
    """Put the lines together and say what is missing."""
    missing = [line.words for line in lines if line.rate is None]
    if missing:
        return UnitCost(tuple(lines), f"{' and '.join(missing)} {'have' if missing[1:] else 'has'} no cost on that day")
    return UnitCost(tuple(lines), "" if lines else "it has neither minutes nor a kit to compute its cost from")


def grade_rates(*, until: date) -> Dated:
    """Return what a minute of each grade costs, from each of its dates on."""
    costs = GradeCost.objects.filter(starts_on__lte=until)
    return Dated(
        (
            grade,
            starts_on,
            time_costs.capacity_rate(
                cost=Fraction(cost),
                minutes=time_costs.practical_minutes(
                    days=Fraction(days), hours_a_day=Fraction(hours), break_minutes_a_day=breaks
                ),
            ),
        )
        for grade, starts_on, cost, days, hours, breaks in costs.values_list(
            "grade", "starts_on", "yearly_cost", "days", "hours_a_day", "break_minutes_a_day"
        )
    )


def supply_rates(*, supplies: Collection[int], until: date) -> Dated:
    """Return what one unit of each supply is listed at, from each of its dates on; unlisted, what its lots cost."""
    rows = SupplyPrice.objects.filter(supply__in=supplies, starts_on__lte=until)
    listed = [(supply, on, Fraction(cost)) for supply, on, cost in rows.values_list("supply", "starts_on", "cost")]
    unlisted = set(supplies) - {supply for supply, *_ in listed}
    return Dated([*listed, *(lot_rates(supplies=unlisted, until=until) if unlisted else ())])


def lot_rates(*, supplies: Collection[int], until: date) -> list[tuple[int, date, Fraction]]:
    """Return what one unit of each lot cost, from its arrival on: so an unlisted supply is planned."""
    lots = SupplyLot.objects.filter(supply__in=supplies, arrived_on__lte=until).exclude(source="found")
    rows = lots.order_by("arrived_on", "pk").values_list("supply", "arrived_on", "cost_minor", "quantity_millionths")
    found = list(rows)
    scale = Fraction(MILLION, 10 ** holder.holder().digits) if found else Fraction(1)
    return [(supply, on, cost * scale / quantity) for supply, on, cost, quantity in found]
