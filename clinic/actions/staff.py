"""Grades and what an hour of each costs from a date on; how long a service takes whom."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from djmoney.money import Money

from clinic.actions import costed_days
from clinic.formulas import time_costs
from clinic.models import Grade, GradeCost, GradeMinutes, Service, TimeExtra, User
from config.refusal import Refusal
from ledger.queries import holder


class GradeKnown(Refusal):
    field = "name"


class NoTimeForWork(Refusal):
    field = "break_minutes_a_day"


class CostNegative(Refusal):
    field = "yearly_cost"


class NobodyWorks(Refusal):
    field = "people"


class CostOnThatDay(Refusal):
    field = "starts_on"


class ExtraTwice(Refusal):
    field = "extras"


@transaction.atomic
def add_grade(*, name: str, starts_on: date, by: User, at: datetime, **year: Decimal | int) -> Grade:
    """Add a grade with what it costs; `year` is what `set_cost` takes.

    :raises GradeKnown: when there is a grade of that name, with other figures.
    """
    known = Grade.objects.filter(name__iexact=name).first()
    if known and not known.costs.filter(starts_on=starts_on).exists():
        raise GradeKnown(f"There is a grade {known.name} already. Set its new cost there; nothing was saved.")
    grade = known or Grade.objects.create(name=name)
    set_cost(grade=grade, starts_on=starts_on, by=by, at=at, **year)
    return grade


@transaction.atomic
def set_cost(
    *,
    grade: Grade,
    starts_on: date,
    people: Decimal,
    yearly_cost: Decimal,
    days: Decimal,
    hours_a_day: Decimal,
    by: User,
    at: datetime,
    break_minutes_a_day: int = 0,
) -> GradeCost:
    """Set what one person of a grade costs in a year and how long they are at work; earlier dates keep theirs.

    :raises NobodyWorks: when no post is filled.
    :raises CostNegative: when the year costs less than nothing.
    :raises NoTimeForWork: when no minute is left for work.
    :raises CostOnThatDay: when that date already has other figures.
    :raises DayCostedAlready: when a signed-off day on or after the date used the cost before it.
    """
    if people <= 0:
        raise NobodyWorks("Write how many posts there are, such as 1 or 2.5. Nothing was saved.")
    if yearly_cost < 0:
        raise CostNegative("A year costs zero or more. Nothing was saved.")
    try:
        time_costs.practical_minutes(days=days, hours_a_day=hours_a_day, break_minutes_a_day=break_minutes_a_day)
    except (time_costs.NoPracticalTime, time_costs.TimeNegative) as none_left:
        raise NoTimeForWork(f"{none_left} Nothing was saved.") from None
    said = (people, yearly_cost, days, hours_a_day, break_minutes_a_day)
    known = grade.costs.filter(starts_on=starts_on).first()
    if known:
        if _figures(known) == said:
            return known
        raise CostOnThatDay(f"{grade.name} already has a cost from {starts_on}. Choose a later day.")
    if grade.costs.exists():
        services = GradeMinutes.objects.filter(grade=grade).values_list("service", flat=True)
        costed_days.check(services=set(services), starts_on=starts_on, words=grade.name)
    return GradeCost.objects.create(
        grade=grade,
        starts_on=starts_on,
        people=people,
        yearly_cost=Money(yearly_cost, holder.holder().currency),
        days=days,
        hours_a_day=hours_a_day,
        break_minutes_a_day=break_minutes_a_day,
        set_by=by,
        set_at=at,
    )


def _figures(cost: GradeCost) -> tuple[Decimal | int, ...]:
    return cost.people, cost.yearly_cost.amount, cost.days, cost.hours_a_day, cost.break_minutes_a_day


@transaction.atomic
def set_minutes(*, service: Service, minutes: Mapping[int, Decimal | None]) -> int:
    """Say how many minutes of each grade (by id) one unit of a service takes; return how many grades take part."""
    service.grade_minutes.all().delete()
    made = [GradeMinutes(service=service, grade_id=grade, minutes=each) for grade, each in minutes.items() if each]
    GradeMinutes.objects.bulk_create(made)
    return len(made)


@transaction.atomic
def set_extras(*, service: Service, room_minutes: int, extras: Sequence[tuple[str, int, Decimal]]) -> int:
    """Say how long the theater is needed, and which minutes come on top: words, grade (by id), minutes each time.

    :raises ExtraTwice: when the same words stand twice for one grade.
    """
    named = [(words.casefold(), grade) for words, grade, _ in extras]
    twice = next((extra for extra in extras if named.count((extra[0].casefold(), extra[1])) > 1), None)
    if twice:
        raise ExtraTwice(f"“{twice[0]}” stands twice for one grade. Write its minutes once; nothing was saved.")
    service.room_minutes = room_minutes
    service.save(update_fields=["room_minutes"])
    service.time_extras.all().delete()
    made = [TimeExtra(service=service, words=words, grade_id=grade, minutes=each) for words, grade, each in extras]
    return len(TimeExtra.objects.bulk_create(made))
