"""What is due on a row of the ward sheet: each standing order as a thing to tick."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.db.models import Max, Q

from clinic.formulas import rounds, sheet_keys
from clinic.models import CareItem, Order


@dataclass(frozen=True)
class Due:
    """One order on one row, as a thing to tick."""

    order_id: int
    name: str
    words: str
    state: str  # due, some, done, over, later, signed
    how: str  # "given, PQ 8:05"
    given: int
    of: int
    round: str  # the round that the next tick belongs to; empty when all is given
    medication: bool
    last_item_id: int | None  # what "undo" takes back
    tick: str  # the key of the next tick
    for_all: bool = False  # one tick gives it to all of a group
    # The key of one more beyond the order. Each showing has its own: two people, or one person on a page read anew
    # before the first was sent, may each give one more.
    again: str = field(default_factory=lambda: str(uuid4()), compare=False)

    @property
    def as_ordered(self) -> bool:
        """Say whether "as ordered" ticks it: due in the present round, never overdue, never medication (B6)."""
        return self.state in {"due", "some"} and bool(self.round) and not self.medication


def standing_orders(on: date, animals: list[int]) -> dict[int, list[tuple[Order, date | None]]]:
    """Return the orders that stand on `on`; one of an interval with the last day before it on which it was given.

    One that is stopped on that day asks for nothing more, and what it was given before stays.
    """
    orders = list(
        Order.objects.filter(animal__in=animals, starts_on__lte=on)
        .filter(Q(until_on__isnull=True) | Q(until_on__gte=on))
        .filter(Q(stopped_on__isnull=True) | Q(stopped_on__gte=on))
        .select_related("service")
        .order_by("pk")
    )
    last = _last_given([order.pk for order in orders if order.every_days > 1], before=on)
    found: dict[int, list[tuple[Order, date | None]]] = defaultdict(list)
    for order in orders:
        found[order.animal_id].append((order, last.get(order.pk)))
    return found


def _last_given(orders: list[int], *, before: date) -> dict[int, date]:
    if not orders:
        return {}
    given = CareItem.objects.filter(order__in=orders, undone_at__isnull=True, on__lt=before)
    return dict(given.values("order").annotate(last=Max("on")).values_list("order", "last"))


def due(
    order: Order,
    last: date | None,
    given: list[CareItem],
    *,
    on: date,
    current: str,
    zone: ZoneInfo,
    signed: bool,
) -> Due:
    mine = [item for item in given if item.order_id == order.pk]
    ticks = [item for item in mine if item.undone_at is None]
    missed = _missed_on(order, last, on)
    wanted = list(order.rounds) if order.is_due_on(on) or missed else []
    reached = [name for name in wanted if name in rounds.until(current)]
    state = _state(len(ticks), wanted, reached, current, missed)
    upcoming = wanted[len(ticks)] if len(ticks) < len(wanted) else ""
    turn = sum(item.round == upcoming for item in mine)
    beyond = [item for item in given if item.order_id is None and item.service_id == order.service_id]
    more = sum((item.quantity for item in beyond if item.undone_at is None), Decimal())
    return Due(
        order_id=order.pk,
        name=order.service.name,
        words=order.words,
        state="signed" if signed else state,
        how=_how(ticks, wanted, state, missed, upcoming, zone) + (f", {more.normalize():f} more" if more else ""),
        given=len(ticks),
        of=len(wanted) or len(ticks),
        round="" if signed else upcoming,
        medication=order.service.is_medication,
        last_item_id=ticks[-1].pk if ticks and not signed else None,
        for_all=order.for_group_id is not None,
        tick=str(sheet_keys.tick(on, order_key=order.key, round_name=upcoming, turn=turn)),
    )


def _missed_on(order: Order, last: date | None, on: date) -> date | None:
    """Return the day on which an order of an interval fell due and was not given since; daily orders start anew."""
    if order.every_days == 1 or order.is_due_on(on) or order.stopped_on is not None and order.stopped_on <= on:
        return None
    due_on = on - timedelta(days=(on - order.starts_on).days % order.every_days)
    return due_on if last is None or last < due_on else None


def _state(ticks: int, wanted: list[str], reached: list[str], current: str, missed: date | None) -> str:
    if ticks >= len(wanted):
        return "done"
    passed = [name for name in reached if name != current]
    if missed or ticks < len(passed):
        return "over"
    if ticks >= len(reached):
        return "later"
    return "some" if ticks else "due"


def _how(
    ticks: list[CareItem], wanted: list[str], state: str, missed: date | None, upcoming: str, zone: ZoneInfo
) -> str:
    count = f"{len(ticks)} of {len(wanted)}, " if len(wanted) > 1 else ""
    if state == "over":
        return count + (f"overdue since {missed:%a}" if missed else f"{upcoming} overdue")
    if ticks:
        last = ticks[-1]
        said = f"{last.recorded_by.initials} {clock_words(last.recorded_at, zone)}"
        return f"{count}{said}" if count else f"given, {said}"
    return count + (upcoming if state == "later" else "due")


def clock_words(moment: datetime, zone: ZoneInfo) -> str:
    local = moment.astimezone(zone)
    return f"{local.hour}:{local.minute:02d}"
