"""What single items of care took, where it was written down otherwise than planned, and what that costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from clinic.models import CareItem, ItemPart
from clinic.queries.shelves import Needed
from clinic.queries.unit_costs import CostLine, Dated, UnitCost, grade_rates, supply_rates, unit_cost


class ItemCosts:
    """The costs of items that have parts of their own: one read, and two more where there are any."""

    def __init__(self, *, items: Collection[CareItem], until: date) -> None:
        self._parts: dict[int, list[ItemPart]] = defaultdict(list)
        parts = ItemPart.objects.filter(care_item__in=[item.pk for item in items]).select_related("grade", "supply")
        for part in parts.order_by("pk") if items else ():
            self._parts[part.care_item_id].append(part)
        self.supplies = {part.supply_id for found in self._parts.values() for part in found if part.supply_id}
        self._minute = grade_rates(until=until) if self._parts else Dated(())
        self._listed = supply_rates(supplies=self.supplies, until=until) if self.supplies else Dated(())

    def of(self, items: Sequence[CareItem], planned: UnitCost | None) -> UnitCost | None:
        """Return what one unit of a line cost as it was done; None where all of its items were done as planned.

        Items without parts of their own take the planned cost; `planned` is None where the cost is typed.
        """
        if not any(item.pk in self._parts for item in items):
            return None
        whole, share = self._whole(items)
        lines = [line for item in items for line in self._lines(item, whole)]
        if share and planned is not None:
            if planned.obstacle:
                return planned
            lines += [replace(line, quantity=line.quantity * share, free=line.free * share) for line in planned.lines]
        return unit_cost(_merged(lines))

    def needed(self, items: Sequence[CareItem], planned: Sequence[Needed]) -> tuple[Needed, ...] | None:
        """Return what one unit of a line took of each supply; None where all of its items were done as planned."""
        if not any(item.pk in self._parts for item in items):
            return None
        whole, share = self._whole(items)
        took: dict[int, Needed] = {}
        for line in planned if share else ():
            took[line.supply_id] = replace(line, quantity=Fraction(line.quantity) * share)
        for part in (part for item in items for part in self._parts.get(item.pk, ())):
            if part.supply:
                more = Fraction(part.quantity) / whole
                known = took.get(part.supply.pk)
                more += Fraction(known.quantity) if known else 0
                took[part.supply.pk] = Needed(part.supply.pk, part.supply.name, part.supply.unit, more)
        return tuple(line for line in took.values() if line.quantity)

    def _whole(self, items: Sequence[CareItem]) -> tuple[Fraction, Fraction]:
        """Return how many units the line has, and which part of them was done as planned."""
        whole = sum((Fraction(item.quantity) for item in items), Fraction(0))
        as_planned = sum((Fraction(item.quantity) for item in items if item.pk not in self._parts), Fraction(0))
        return whole, as_planned / whole

    def _lines(self, item: CareItem, whole: Fraction) -> Iterator[CostLine]:
        for part in self._parts.get(item.pk, ()):
            each = Fraction(part.quantity) / whole
            if part.supply:
                rate = self._listed.on(part.supply.pk, item.on)
                yield CostLine(part.supply.name, each, part.supply.unit, rate, False, part.supply.pk)
            elif part.grade:
                rate = self._minute.on(part.grade.pk, item.on)
                free = Fraction(part.free) / whole * (rate or 0)
                yield CostLine(part.grade.name, each, "min", rate, True, part.grade.pk, free)


def _merged(lines: Sequence[CostLine]) -> list[CostLine]:
    """Put the lines of one grade or supply together; what took nothing falls away."""
    found: dict[tuple[bool, int], CostLine] = {}
    for line in lines:
        known = found.get((line.is_time, line.part_id))
        more = replace(known, quantity=known.quantity + line.quantity, free=known.free + line.free) if known else line
        found[line.is_time, line.part_id] = more
    return [line for line in found.values() if line.quantity]
