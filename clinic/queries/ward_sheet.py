"""The ward sheet of a day: a row per animal in care, what is due this round, what was given, by whom."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.db.models import Q

from clinic.formulas import rounds
from clinic.models import Change, EveningSeen, House, Service, SheetRow, WardSheet
from clinic.queries import in_care, sheet_dues, sheet_log
from clinic.queries.sheet_dues import Due
from clinic.queries.sheet_log import Line
from clinic.queries.unsigned_days import unsigned_rows

MOST_CHANGES = 500


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
    change: int  # the newest change that this sheet shows

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
    change = last_change()  # read first: what comes while the sheet is read is shown again
    present = in_care.on(on)
    animals = [row.stay.animal_id for row in present]
    sheet = WardSheet.objects.filter(on=on).first()
    signed = set(SheetRow.objects.filter(sheet__on=on).values_list("animal_id", flat=True))
    facts = sheet_log.facts(on, animals)
    notes = sheet_log.notes(on, animals)
    orders = sheet_dues.standing_orders(on, animals)
    current = round_of(on=on, today=today, moment=moment, house=house)

    by_room: dict[str, list[Row]] = defaultdict(list)
    for row in present:
        animal = row.stay.animal
        given = facts[animal.pk]
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
                    if (
                        due := sheet_dues.due(order, last, given, on=on, current=current, zone=zone, signed=is_signed)
                    ).of
                    or due.given
                ),
                log=sheet_log.log(given, notes[animal.pk], zone=zone, signed=is_signed),
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
        change=change,
    )


def round_of(*, on: date, today: date, moment: datetime, house: House) -> str:
    """Return the round that a day's sheet stands in: the present one today, the last one of any other day."""
    return rounds.present(moment.astimezone(ZoneInfo(house.time_zone)).time()) if on == today else "night"


def changed_since(*, change: int) -> frozenset[int]:
    """Return the animals of which something was written after a change; of very many the newest."""
    rows = Change.objects.filter(pk__gt=change).order_by("-pk").values_list("animal", flat=True)
    return frozenset(rows[:MOST_CHANGES])


def last_change() -> int:
    """Return the number of the newest change, 0 where nothing was ever written."""
    return Change.objects.order_by("-pk").values_list("pk", flat=True).first() or 0


def _seen(sheet: WardSheet | None, zone: ZoneInfo) -> str:
    seen = EveningSeen.objects.filter(sheet=sheet).select_related("by").first() if sheet else None
    return f"{seen.by.initials} {sheet_dues.clock_words(seen.at, zone)}" if seen else ""


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
