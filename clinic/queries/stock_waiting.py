"""What has left the shelf and is not signed off yet: given to animals, and still on hand in the lots."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Min, QuerySet

from clinic.formulas.shelves import MILLION
from clinic.models import BoardingDay, BoardingLevel, CareItem, House, ItemPart, KitLine, SupplyLot
from clinic.queries import in_care
from clinic.queries.unsigned_days import unsigned_rows


@dataclass
class Waiting:
    """What is given and not signed off, by supply, in millionths of its unit, and the oldest day of it."""

    millionths: Counter[int] = field(default_factory=Counter)
    oldest_on: dict[int, date] = field(default_factory=dict)

    def add(self, supply: int, millionths: int, on: date) -> None:
        self.millionths[supply] += millionths
        self.oldest_on[supply] = min(on, self.oldest_on.get(supply, on))


def waiting(*, supplies: Collection[int], today: date) -> Waiting:
    """Return what has left the shelf without a signature since each supply is counted."""
    since = dict(SupplyLot.objects.filter(supply__in=supplies).values_list("supply").annotate(first=Min("arrived_on")))
    needs: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for service, supply, each in KitLine.objects.filter(supply__in=since).values_list(
        "kit__service", "supply", "quantity"
    ):
        needs[service].append((supply, int(each * MILLION)))
    found = Waiting()
    if not since:
        return found
    unsigned = CareItem.objects.filter(undone_at__isnull=True, signing__isnull=True, on__lte=today)
    written = _written_down(found, unsigned, since)
    given = unsigned.filter(service__in=needs).exclude(pk__in=written)
    for on, service, quantity in given.values_list("on", "service", "quantity"):
        for supply, each in needs[service]:
            if on >= since[supply]:
                found.add(supply, int(each * quantity), on)
    if BoardingLevel.objects.filter(service__in=needs).exists():
        _nights(found, needs, since, today)
    return found


def _written_down(found: Waiting, unsigned: QuerySet[CareItem], since: dict[int, date]) -> set[int]:
    """Add what was written down for single items in the place of their kit; return those items."""
    parts = ItemPart.objects.filter(care_item__in=unsigned)
    items = set()
    for item, on, supply, quantity in parts.values_list("care_item", "care_item__on", "supply", "quantity"):
        items.add(item)
        if supply in since and on >= since[supply]:
            found.add(supply, int(quantity * MILLION), on)
    return items


def _nights(found: Waiting, needs: dict[int, list[tuple[int, int]]], since: dict[int, date], today: date) -> None:
    first = min(since.values())
    rows = unsigned_rows(first=first, last=today, house=House.objects.get())
    rows -= set(BoardingDay.objects.filter(on__range=(first, today)).values_list("on", "animal_id"))
    for day in sorted({on for on, _ in rows}):
        for row in in_care.on(day, boards_only=True):
            if (day, row.stay.animal_id) not in rows or row.level is None:
                continue
            for supply, each in needs.get(row.level.service_id, ()):
                if day >= since[supply]:
                    found.add(supply, each, day)
