"""The ward sheet of a day: a row per animal in care, what is due this round, what was given, by whom."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from clinic.formulas import rounds
from clinic.models import Animal, Change, EveningSeen, House, Service, WardSheet
from clinic.queries import in_care, sheet_dues, sheet_log
from clinic.queries.sheet_rows import NOBODY, Kits, Row, kits_of, rows_of
from clinic.queries.unsigned_days import unsigned_rows

MOST_CHANGES = 500


@dataclass(frozen=True)
class RoomRows:
    slug: str
    name: str
    rows: tuple[Row, ...]

    @property
    def animals(self) -> int:
        return sum(row.animals for row in self.rows)


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
    def blank(self) -> Kits:
        return NOBODY

    @property
    def in_care(self) -> int:
        return sum(row.animals for row in self.rows if not row.leaves)

    @property
    def past(self) -> bool:
        return self.on < self.today

    @property
    def may_confirm(self) -> bool:
        return not self.seen and self.in_care > 0 and self.on >= self.opening_on

    @property
    def made(self) -> int:
        return sum(row.made for row in self.rows)

    @property
    def ordered(self) -> int:
        return sum(row.ordered for row in self.rows)

    @property
    def now_due(self) -> int:
        return sum(len(row.now_due) for row in self.rows)

    @property
    def overdue(self) -> int:
        return sum(row.overdue for row in self.rows)


@dataclass(frozen=True)
class Excerpt:
    """Some rows of a sheet, read without the others: what a tap changed, or what somebody else wrote."""

    on: date
    today: date
    rows: tuple[Row, ...] = ()
    services: tuple[Choice, ...] = ()  # for the row whose details are open

    @property
    def past(self) -> bool:
        return self.on < self.today


def ward_sheet(*, on: date, today: date, moment: datetime, house: House, opened: int = 0) -> Sheet:
    """Read the sheet of `on` in a fixed number of queries, whatever the number of animals."""
    zone = ZoneInfo(house.time_zone)
    change = last_change()  # read first: what comes while the sheet is read is shown again
    present = in_care.on(on)
    sheet = WardSheet.objects.filter(on=on).first()
    current = round_of(on=on, today=today, moment=moment, house=house)
    rows = rows_of(present, on=on, current=current, zone=zone, opened=opened)
    by_room: dict[str, list[Row]] = defaultdict(list)
    for one, row in rows:
        by_room[one.room].append(row)
    return Sheet(
        on=on,
        today=today,
        round=current,
        rooms=tuple(
            RoomRows(f"room-{number}", name, tuple(rows)) for number, (name, rows) in enumerate(by_room.items())
        ),
        week=_week(on, today, house),
        seen=_seen(sheet, zone),
        signed=bool(rows) and all(row.signed for _, row in rows),
        services=_services(on),
        opening_on=house.opening_on,
        change=change,
    )


def excerpt(
    *, on: date, today: date, moment: datetime, house: House, animals: Collection[int], opened: int = 0
) -> Excerpt:
    """Read the rows of some animals as they stand on the sheet, and nothing of the others."""
    current = round_of(on=on, today=today, moment=moment, house=house)
    together = Animal.objects.filter(
        group__isnull=False, group__in=Animal.objects.filter(pk__in=animals).values("group")
    )
    present = in_care.on(on, animals={*animals, *together.values_list("pk", flat=True)})
    rows = rows_of(present, on=on, current=current, zone=ZoneInfo(house.time_zone), opened=opened)
    asks = opened or any(row.members for _, row in rows)  # a group's details stand in its row, to be opened there
    return Excerpt(on=on, today=today, rows=tuple(row for _, row in rows), services=_services(on) if asks else ())


def kits(*, on: date, today: date, moment: datetime, house: House, animal: Animal) -> Kits:
    """Read what a tap changes of one animal's row, and nothing else: the answer to a tap, so it asks little."""
    if animal.group_id is not None:
        shown = {"on": on, "today": today, "moment": moment, "house": house}
        return next(iter(excerpt(animals=[animal.pk], **shown).rows))
    current = round_of(on=on, today=today, moment=moment, house=house)
    names = {animal.pk: animal.name or animal.number}
    given = sheet_log.facts(on, [animal.pk], in_words=False)
    return kits_of(names, given, on=on, current=current, zone=ZoneInfo(house.time_zone))[animal.pk]


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
