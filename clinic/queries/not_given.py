"""What was ordered for the last days and is not written down as given."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import F, Q

from clinic.models import CareItem, Order
from clinic.queries.missed_days import DAYS


@dataclass(frozen=True)
class NotGiven:
    """One order on one day: the rounds of which nothing is written down."""

    on: date
    animal: str
    name: str
    rounds: tuple[str, ...]


def not_given(*, today: date, opening_on: date) -> tuple[NotGiven, ...]:
    """Return what the days before today lack, as many as stand side by side (B7), the oldest first, in two reads.

    The day on which an order began and the day on which an animal came or left are not asked about: part of their
    rounds lay outside. An order of an interval is not either: missed, it stands overdue on the sheet until it is given.
    """
    first, last = max(today - timedelta(days=DAYS), opening_on), today - timedelta(days=1)
    orders = list(
        Order.objects.filter(
            Q(animal__stays__discharged_on=None) | Q(animal__stays__discharged_on__gt=first),
            Q(until_on=None) | Q(until_on__gte=first),
            Q(stopped_on=None) | Q(stopped_on__gt=first),
            animal__stays__admitted_on__lt=last,
            animal__stays__is_history=False,
            starts_on__lt=last,
            every_days=1,
        )
        .annotate(came_on=F("animal__stays__admitted_on"), left_on=F("animal__stays__discharged_on"))
        .select_related("animal", "service")
        .order_by("pk")
    )
    kept: dict[tuple[int, date], set[str]] = defaultdict(set)
    ticks = CareItem.objects.filter(order__in={order.pk for order in orders}, on__range=(first, last), undone_at=None)
    for order_id, on, name in ticks.values_list("order_id", "on", "round"):
        kept[order_id, on].add(name)
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    found = (
        NotGiven(
            on=day,
            animal=order.animal.name or order.animal.number,
            name=order.service.name,
            rounds=tuple(name for name in order.rounds if name not in kept[order.pk, day]),
        )
        for day in days
        for order in orders
        if _is_asked(order, day)
    )
    return tuple(one for one in found if one.rounds)


def _is_asked(order: Order, day: date) -> bool:
    is_here = order.came_on < day and (order.left_on is None or day < order.left_on)
    return is_here and order.starts_on < day and order.is_due_on(day)
