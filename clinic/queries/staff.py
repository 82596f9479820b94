"""What an hour of each grade costs with its working, and a month's used time."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Count, QuerySet, Sum

from clinic.formulas import time_costs
from clinic.models import BoardingDay, CareItem, Grade, GradeCost, GradeMinutes, ItemPart, Service
from clinic.queries.written import FINER, shown
from ledger.formulas import money
from ledger.queries import holder

ONE = timedelta(days=1)


@dataclass(frozen=True)
class GradeLine:
    grade_id: int
    name: str
    starts_on: date | None
    people: Decimal
    yearly_minor: int
    days: Decimal
    hours_a_day: Decimal
    break_minutes_a_day: int
    minutes: Fraction  # of one person in a year
    rate: Fraction  # of a minute
    hour_minor: int
    minute: Decimal
    then: "GradeLine | None"  # what it costs from the next day on for which another cost is set

    @property
    def practical(self) -> str:
        return f"{shown(self.minutes):,f}"


@dataclass(frozen=True)
class CapacityLine:
    name: str
    supplied: Decimal
    used: Decimal
    unused: Decimal
    free: Decimal
    supplied_minor: int
    assigned_minor: int
    unused_minor: int

    @property
    def supplied_words(self) -> str:
        return f"{self.supplied:,f}"

    @property
    def used_words(self) -> str:
        return f"{self.used:,f}"

    @property
    def unused_words(self) -> str:
        return f"{self.unused:,f}"

    @property
    def free_words(self) -> str:
        return f"{self.free:,f}"


@dataclass(frozen=True)
class MonthOfTime:
    first: date
    earlier: date
    later: date
    lines: tuple[CapacityLine, ...]
    without_minutes: tuple[str, ...]  # services that were given and have no minutes by grade
    boarding_days: int
    standard_minutes: int  # that the boarding levels plan for these days
    least_minutes: int  # of cleaning and feeding, by the published figure


def cost_said(*, grade: Grade) -> dict[str, object]:
    """Return what was said last of a grade, to begin with: a raise changes one figure and keeps the others."""
    last = grade.costs.order_by("starts_on").last()
    if last is None:
        return {}
    return {
        "people": f"{last.people.normalize():f}",
        "yearly_cost": shown(Fraction(last.yearly_cost.amount), 6),
        "days": f"{last.days.normalize():f}",
        "hours_a_day": f"{last.hours_a_day.normalize():f}",
        "break_minutes_a_day": last.break_minutes_a_day,
    }


def grades(*, on: date) -> tuple[GradeLine, ...]:
    """Return every grade that has a cost on `on`, by name."""
    currency = holder.holder().currency
    now, later = _in_force(on)
    return tuple(_line(now[grade.pk], later.get(grade.pk), currency) for grade in _grades() if grade.pk in now)


def to_come(*, on: date) -> tuple[tuple[int, str, date], ...]:
    """Return the grades whose first cost begins after `on`: id, name, date."""
    now, later = _in_force(on)
    return tuple((grade.pk, grade.name, later[grade.pk].starts_on) for grade in _grades() if grade.pk not in now)


def minutes_said(*, service: Service) -> dict[str, Decimal | int | str]:
    """Return the time of a service as its form takes it: minutes by grade, what comes on top, the theater."""
    extras = service.time_extras.select_related("grade").order_by("pk")
    return {
        "room_minutes": service.room_minutes,
        "extras": "\n".join(f"{one.words}: {one.minutes.normalize():f} {one.grade.name}" for one in extras),
        **{f"grade_{one.grade_id}": one.minutes.normalize() for one in service.grade_minutes.all()},
    }


def capacity(*, on: date) -> MonthOfTime:
    """Return what of the month around `on` was used by the days signed off, at the cost in force on its last day.

    A twelfth of the year is supplied each month. Unused time is shown and charged to no animal.
    """
    first = on.replace(day=1)
    later = (first + timedelta(days=32)).replace(day=1)
    paid, free, without = _used(first, later)
    currency = holder.holder().currency
    boarded = BoardingDay.objects.filter(on__gte=first, on__lt=later).aggregate(
        days=Count("pk"), minutes=Sum("level__service__standard_minutes")
    )
    return MonthOfTime(
        first=first,
        earlier=(first - timedelta(days=1)).replace(day=1),
        later=later,
        lines=tuple(
            _capacity(line, paid[line.grade_id], free[line.grade_id], currency) for line in grades(on=later - ONE)
        ),
        without_minutes=without,
        boarding_days=boarded["days"],
        standard_minutes=boarded["minutes"] or 0,
        least_minutes=int(time_costs.least_daily_care(animal_days=boarded["days"])),
    )


def _capacity(line: GradeLine, paid: Fraction, free: Fraction, currency: str) -> CapacityLine:
    month = Fraction(line.people) / 12
    supplied = line.minutes * month
    found = time_costs.capacity(cost=line.rate * supplied, minutes=supplied, used=[(paid, 1)])
    supplied_minor = money.to_minor(found.supplied, currency)
    assigned_minor = money.to_minor(found.assigned, currency)
    return CapacityLine(
        name=line.name,
        supplied=shown(found.supplied_minutes),
        used=shown(found.used_minutes),
        unused=shown(found.unused_minutes),
        free=shown(free),
        supplied_minor=supplied_minor,
        assigned_minor=assigned_minor,
        unused_minor=supplied_minor - assigned_minor,
    )


def _used(first: date, until: date) -> tuple[dict[int, Fraction], dict[int, Fraction], tuple[str, ...]]:
    """Return the minutes by grade of what was signed off, paid and given free, and the services that have none.

    They are the standard minutes, or those of an item for which it was written down what it took.
    """
    minutes: dict[int, list[tuple[int, Fraction]]] = defaultdict(list)
    for service, grade, each in GradeMinutes.objects.values_list("service", "grade", "minutes"):
        minutes[service].append((grade, Fraction(each)))
    paid: dict[int, Fraction] = defaultdict(Fraction)
    free: dict[int, Fraction] = defaultdict(Fraction)
    missing = set()
    for service, times, is_free in _done(first, until):
        for grade, each in minutes[service]:
            (free if is_free else paid)[grade] += each * times
        if not minutes[service]:
            missing.add(service)
    for grade, worked, given, is_free in _written_down(first, until):
        paid[grade] += 0 if is_free else worked - given
        free[grade] += worked if is_free else given
    names = Service.objects.filter(pk__in=missing).order_by("name").values_list("name", flat=True)
    return paid, free, tuple(names)


def _signed(first: date, until: date) -> QuerySet[CareItem]:
    return CareItem.objects.filter(on__gte=first, on__lt=until, undone_at=None, signing__isnull=False)


def _done(first: date, until: date) -> Iterator[tuple[int, Fraction, bool]]:
    """Yield service, how often, and whether its time was given free, over the signed days of a month."""
    as_planned = _signed(first, until).exclude(parts__grade__isnull=False)
    for service, quantity, is_free in as_planned.values_list("service", "quantity", "given_free"):
        yield service, Fraction(quantity), is_free
    for service in BoardingDay.objects.filter(on__gte=first, on__lt=until).values_list("level__service", flat=True):
        yield service, Fraction(1), False


def _written_down(first: date, until: date) -> Iterator[tuple[int, Fraction, Fraction, bool]]:
    """Yield grade, minutes, those of them given free, and whether all of the item was."""
    parts = ItemPart.objects.filter(care_item__in=_signed(first, until), grade__isnull=False)
    for grade, worked, given, is_free in parts.values_list("grade", "quantity", "free", "care_item__given_free"):
        yield grade, Fraction(worked), Fraction(given), is_free


def _grades() -> list[Grade]:
    return list(Grade.objects.order_by("name"))


def _in_force(on: date) -> tuple[dict[int, GradeCost], dict[int, GradeCost]]:
    now: dict[int, GradeCost] = {}
    later: dict[int, GradeCost] = {}
    for cost in GradeCost.objects.select_related("grade").order_by("starts_on"):
        if cost.starts_on <= on:
            now[cost.grade_id] = cost
        else:
            later.setdefault(cost.grade_id, cost)
    return now, later


def _line(cost: GradeCost, later: GradeCost | None, currency: str) -> GradeLine:
    minutes = time_costs.practical_minutes(
        days=Fraction(cost.days),
        hours_a_day=Fraction(cost.hours_a_day),
        break_minutes_a_day=cost.break_minutes_a_day,
    )
    rate = time_costs.capacity_rate(cost=Fraction(cost.yearly_cost.amount), minutes=minutes)
    return GradeLine(
        grade_id=cost.grade_id,
        name=cost.grade.name,
        starts_on=cost.starts_on,
        people=cost.people,
        yearly_minor=money.to_minor(cost.yearly_cost.amount, currency),
        days=cost.days,
        hours_a_day=cost.hours_a_day,
        break_minutes_a_day=cost.break_minutes_a_day,
        minutes=minutes,
        rate=rate,
        hour_minor=money.to_minor(rate * 60, currency),
        minute=shown(rate, money.minor_digits(currency) + FINER),
        then=_line(later, None, currency) if later else None,
    )
