"""What has left the shelf and is not signed off yet: given to animals, and still on hand in the lots."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection
from datetime import date

from django.db.models import Min

from clinic.formulas.shelves import MILLION
from clinic.models import BoardingDay, BoardingLevel, CareItem, House, KitLine, SupplyLot
from clinic.queries import in_care
from clinic.queries.unsigned_days import unsigned_rows


def waiting(*, supplies: Collection[int], today: date) -> Counter[int]:
    """Return by supply what is given and not signed off, in millionths of its unit, since it is counted."""
    since = dict(SupplyLot.objects.filter(supply__in=supplies).values_list("supply").annotate(first=Min("arrived_on")))
    needs: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for service, supply, each in KitLine.objects.filter(supply__in=since).values_list(
        "kit__service", "supply", "quantity"
    ):
        needs[service].append((supply, int(each * MILLION)))
    found: Counter[int] = Counter()
    if not needs:
        return found
    given = CareItem.objects.filter(service__in=needs, undone_at__isnull=True, signing__isnull=True, on__lte=today)
    for on, service, quantity in given.values_list("on", "service", "quantity"):
        for supply, each in needs[service]:
            if on >= since[supply]:
                found[supply] += int(each * quantity)
    if BoardingLevel.objects.filter(service__in=needs).exists():
        _nights(found, needs, since, today)
    return found


def _nights(found: Counter[int], needs, since: dict[int, date], today: date) -> None:
    first = min(since.values())
    rows = unsigned_rows(first=first, last=today, house=House.objects.get())
    rows -= set(BoardingDay.objects.filter(on__range=(first, today)).values_list("on", "animal_id"))
    for day in sorted({on for on, _ in rows}):
        for row in in_care.on(day, boards_only=True):
            if (day, row.stay.animal_id) not in rows or row.level is None:
                continue
            for supply, each in needs.get(row.level.service_id, ()):
                if day >= since[supply]:
                    found[supply] += each
