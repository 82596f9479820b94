"""The ward sheet of a day: a row per animal in care, what is due this round, what was given, by whom."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.db.models import Max, Q

from clinic.formulas import rounds, sheet_keys
from clinic.models import CareItem, EveningSeen, House, Observation, Order, Service, SheetRow, WardSheet
from clinic.queries import in_care
from clinic.queries.unsigned_days import unsigned_rows


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


@dataclass(frozen=True)
class Line:
    """Something written on the sheet today: what, by whom, when, and whether it can be undone."""

    item_id: int | None
    at: str
    by: str
    words: str
    undoable: bool
    late: bool


@dataclass(frozen=True)
class Row:
    animal_id: int
    number: str
    name: str
    place: str
    species: str
    day: int
    about: str
    warning: str
    level: str
    dues: tuple[Due, ...]
    log: tuple[Line, ...]
    signed: bool
    leaves: bool
    new_key: str  # of the next thing written down beside the orders
    note_key: str

    @property
    def now_due(self) -> tuple[Due, ...]:
        """What "as ordered" ticks: due in the present round, never overdue, never medication."""
        return tuple(due for due in self.dues if due.state in {"due", "some"} and due.round and not due.medication)

    @property
    def overdue(self) -> int:
        return sum(due.state == "over" for due in self.dues)

    @property
    def waiting(self) -> int:
        return sum(due.state in {"due", "some", "over"} for due in self.dues)


@dataclass(frozen=True)
class RoomRows:
    slug: str
    name: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Weekday:
    on: date
    state: str  # signed, to_sign, today, empty
    current: bool


@dataclass(frozen=True)
class Choice:
    id: int
    name: str
    unit: str


@dataclass(frozen=True)
class Sheet:
    on: date
    today: date
    round: str
    rooms: tuple[RoomRows, ...]
    week: tuple[Weekday, ...]
    seen: str  # "PQ, 21:10", or empty
    signed: bool
    services: tuple[Choice, ...]
    opening_on: date

    @property
    def rows(self) -> tuple[Row, ...]:
        return tuple(row for room in self.rooms for row in room.rows)

    @property
    def in_care(self) -> int:
        return sum(not row.leaves for row in self.rows)

    @property
    def past(self) -> bool:
        return self.on < self.today

    @property
    def may_confirm(self) -> bool:
        return not self.seen and self.in_care > 0 and self.on >= self.opening_on

    @property
    def made(self) -> int:
        return sum(due.given for row in self.rows for due in row.dues)

    @property
    def ordered(self) -> int:
        return sum(due.of for row in self.rows for due in row.dues)

    @property
    def now_due(self) -> int:
        return sum(len(row.now_due) for row in self.rows if not row.signed)

    @property
    def overdue(self) -> int:
        return sum(row.overdue for row in self.rows)


def ward_sheet(*, on: date, today: date, moment: datetime, house: House) -> Sheet:
    """Read the sheet of `on` in a fixed number of queries, whatever the number of animals."""
    zone = ZoneInfo(house.time_zone)
    present = in_care.on(on)
    animals = [row.stay.animal_id for row in present]
    sheet = WardSheet.objects.filter(on=on).first()
    signed = set(SheetRow.objects.filter(sheet__on=on).values_list("animal_id", flat=True))
    items = _items(on, animals)
    notes = _notes(on, animals)
    orders = _orders(on, animals)
    current = rounds.present(moment.astimezone(zone).time()) if on == today else "night"

    by_room: dict[str, list[Row]] = defaultdict(list)
    for row in present:
        animal = row.stay.animal
        given = items[animal.pk]
        is_signed = animal.pk in signed
        by_room[row.room].append(
            Row(
                animal_id=animal.pk,
                number=animal.number,
                name=animal.name or animal.number,
                place=row.place,
                species=animal.species,
                day=(on - row.stay.admitted_on).days + 1,
                about=animal.about,
                warning=animal.warning,
                level=row.level.name if row.level else "",
                dues=tuple(
                    due
                    for order, last in orders[animal.pk]
                    if (due := _due(order, last, given, on=on, current=current, zone=zone, signed=is_signed)).of
                    or due.given
                ),
                log=_log(given, notes[animal.pk], zone=zone, signed=is_signed),
                signed=is_signed,
                leaves=row.stay.discharged_on == on and row.stay.admitted_on < on,
                new_key=str(uuid4()),
                note_key=str(uuid4()),
            )
        )
    return Sheet(
        on=on,
        today=today,
        round=current,
        rooms=tuple(
            RoomRows(f"room-{number}", name, tuple(rows)) for number, (name, rows) in enumerate(by_room.items())
        ),
        week=_week(on, today, house),
        seen=_seen(sheet, zone),
        signed=bool(present) and all(row.stay.animal_id in signed for row in present),
        services=_services(on),
        opening_on=house.opening_on,
    )


def _items(on: date, animals: list[int]) -> dict[int, list[CareItem]]:
    found: dict[int, list[CareItem]] = defaultdict(list)
    items = CareItem.objects.filter(on=on, animal__in=animals).select_related("service", "recorded_by")
    for item in items.order_by("recorded_at", "pk"):
        found[item.animal_id].append(item)
    return found


def _notes(on: date, animals: list[int]) -> dict[int, list[Observation]]:
    found: dict[int, list[Observation]] = defaultdict(list)
    for note in (
        Observation.objects.filter(on=on, animal__in=animals).select_related("recorded_by").order_by("recorded_at")
    ):
        found[note.animal_id].append(note)
    return found


def _orders(on: date, animals: list[int]) -> dict[int, list[tuple[Order, date | None]]]:
    """Return the orders that stand on `on`, each with the last day before it on which it was given."""
    found: dict[int, list[tuple[Order, date | None]]] = defaultdict(list)
    orders = (
        Order.objects.filter(animal__in=animals, starts_on__lte=on)
        .filter(Q(until_on__isnull=True) | Q(until_on__gte=on))
        .filter(Q(stopped_on__isnull=True) | Q(stopped_on__gt=on))
        .select_related("service")
        .annotate(last=Max("given__on", filter=Q(given__undone_at__isnull=True, given__on__lt=on)))
        .order_by("pk")
    )
    for order in orders:
        found[order.animal_id].append((order, order.last))
    return found


def _due(
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
    return Due(
        order_id=order.pk,
        name=order.service.name,
        words=order.words,
        state="signed" if signed else state,
        how=_how(ticks, wanted, state, missed, upcoming, zone),
        given=len(ticks),
        of=len(wanted),
        round="" if signed else upcoming,
        medication=order.service.is_medication,
        last_item_id=ticks[-1].pk if ticks and not signed else None,
        tick=str(sheet_keys.tick(on, order_key=order.key, round_name=upcoming, turn=turn)),
    )


def _missed_on(order: Order, last: date | None, on: date) -> date | None:
    """Return the day on which an order of an interval fell due and was not given since; daily orders start anew."""
    if order.every_days == 1 or order.is_due_on(on):
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
        said = f"{last.recorded_by.initials} {_clock(last.recorded_at, zone)}"
        return f"{count}{said}" if count else f"given, {said}"
    return count + (upcoming if state == "later" else "due")


def _log(items: list[CareItem], notes: list[Observation], *, zone: ZoneInfo, signed: bool) -> tuple[Line, ...]:
    lines = [
        (
            item.recorded_at,
            Line(
                item_id=item.pk,
                at=_clock(item.recorded_at, zone),
                by=item.recorded_by.initials,
                words=_item_words(item),
                undoable=not signed and item.undone_at is None and item.signing_id is None,
                late=item.late,
            ),
        )
        for item in items
    ]
    lines += [
        (
            note.recorded_at,
            Line(None, _clock(note.recorded_at, zone), note.recorded_by.initials, _note_words(note), False, False),
        )
        for note in notes
    ]
    return tuple(line for _, line in sorted(lines, key=lambda pair: pair[0]))


def _item_words(item: CareItem) -> str:
    count = f" × {item.quantity.normalize():f}" if item.quantity != 1 else ""
    unit = f" {item.service.unit}s" if item.service.kind == Service.Kind.STAFF_TIME else ""
    free = ", time given free" if item.given_free else ""
    undone = ", taken back" if item.undone_at else ""
    late = f", late entry {item.get_late_source_display()}" if item.late else ""
    return f"{item.service.name}{count}{unit}{free}{late}{undone}"


def _note_words(note: Observation) -> str:
    value = f"{note.value.normalize():f}" if note.value is not None else ""
    scale = f" of {note.maximum.normalize():f}" if note.maximum is not None else ""
    figure = f"{value}{scale} {note.unit}".strip()
    if note.kind == Observation.Kind.NOTE:
        return f"“{note.words}”"
    return ": ".join(part for part in (note.get_kind_display(), f"{figure} {note.words}".strip()) if part)


def _clock(moment: datetime, zone: ZoneInfo) -> str:
    local = moment.astimezone(zone)
    return f"{local.hour}:{local.minute:02d}"


def _seen(sheet: WardSheet | None, zone: ZoneInfo) -> str:
    seen = EveningSeen.objects.filter(sheet=sheet).select_related("by").first() if sheet else None
    return f"{seen.by.initials} {_clock(seen.at, zone)}" if seen else ""


def _services(on: date) -> tuple[Choice, ...]:
    """Return what can be written down beside the orders: everything but boarding, which follows from the stay."""
    services = (
        Service.objects.exclude(kind=Service.Kind.BOARDING)
        .filter(Q(retired_on__isnull=True) | Q(retired_on__gt=on))
        .order_by("kind", "name")
    )
    return tuple(Choice(service.pk, service.name, service.unit) for service in services)


def _week(on: date, today: date, house: House) -> tuple[Weekday, ...]:
    """Return the seven days up to today, or around the day shown when it is older."""
    around = max(on, house.opening_on)
    last = today if (today - around).days < 7 else around + timedelta(days=3)
    days = [last - timedelta(days=back) for back in range(6, -1, -1)]
    unsigned = {day for day, _ in unsigned_rows(first=days[0], last=days[-1], house=house)}
    return tuple(
        Weekday(
            on=day,
            state="today" if day == today else "to_sign" if day in unsigned else "signed" if day < today else "empty",
            current=day == on,
        )
        for day in days
        if day >= house.opening_on
    )
