"""The days that nobody has signed off yet."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Q

from clinic.models import BoardingDay, CareItem, House, Stay


@dataclass(frozen=True)
class DayWaiting:
    on: date
    rows: int


def waiting(*, today: date, house: House) -> tuple[DayWaiting, ...]:
    """Return every day up to today with rows to sign off, oldest first.

    Only stays with fewer signed boarding days than they have made are looked at day by day, so the work does
    not grow with the years. Days before the opening date are history.
    """
    rows = unsigned_rows(first=house.opening_on, last=today, house=house)
    counts: dict[date, int] = defaultdict(int)
    for on, _ in rows:
        counts[on] += 1
    return tuple(DayWaiting(on, count) for on, count in sorted(counts.items()))


def unsigned_between(*, first: date, last: date, house: House) -> tuple[date, ...]:
    """Return the days of a period of which something is not signed off, oldest first: no report has it yet."""
    return tuple(sorted({on for on, _ in unsigned_rows(first=first, last=last, house=house)}))


def unsigned_rows(*, first: date, last: date, house: House) -> set[tuple[date, int]]:
    """Return (day, animal) for each row from `first` to `last` that has something to sign off."""
    first = max(first, house.opening_on)
    rows = set(
        CareItem.objects.filter(on__range=(first, last), undone_at__isnull=True, signing__isnull=True).values_list(
            "on", "animal_id"
        )
    )
    stays = (
        Stay.objects.filter(admitted_on__lte=last, is_history=False)
        .exclude(discharged_on__lt=first)
        .annotate(signed=Count("boarding_days", filter=Q(boarding_days__on__range=(first, last))))
    )
    open_stays = {stay.pk: stay for stay in stays if stay.signed < _made(stay, first, last)}
    signed = set(BoardingDay.objects.filter(stay__in=open_stays, on__range=(first, last)).values_list("stay_id", "on"))
    for stay in open_stays.values():
        rows |= {(day, stay.animal_id) for day in _days(stay, first, last) if (stay.pk, day) not in signed}
    return rows


def _end(stay: Stay, last: date) -> date:
    """Return the last boarding day of a stay up to `last`: the day of discharge makes none, in and out makes one."""
    if stay.discharged_on is None:
        return last
    return min(last, max(stay.admitted_on, stay.discharged_on - timedelta(days=1)))


def _made(stay: Stay, first: date, last: date) -> int:
    return max(0, (_end(stay, last) - max(stay.admitted_on, first)).days + 1)


def _days(stay: Stay, first: date, last: date) -> Iterator[date]:
    day = max(stay.admitted_on, first)
    while day <= _end(stay, last):
        yield day
        day += timedelta(days=1)
