"""The ward sheet of a day: a row per animal in care, what is due this round, what was given, by whom."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.db.models import Q

from clinic.formulas import rounds
from clinic.models import Animal, CareItem, Change, EveningSeen, House, Service, SheetRow, WardSheet
from clinic.queries import in_care, sheet_dues, sheet_groups, sheet_log
from clinic.queries.in_care import InCare
from clinic.queries.sheet_dues import Due
from clinic.queries.sheet_groups import Member
from clinic.queries.sheet_log import Line
from clinic.queries.unsigned_days import unsigned_rows

MOST_CHANGES = 500


@dataclass(frozen=True)
class Kits:
    """What a tap can change of a row: what is to be given, and whether it is signed off."""

    animal_id: int
    name: str
    dues: tuple[Due, ...]
    signed: bool

    @property
    def now_due(self) -> tuple[Due, ...]:
        return tuple(due for due in self.dues if due.as_ordered)

    @property
    def made(self) -> int:
        return sum(due.given for due in self.dues)

    @property
    def ordered(self) -> int:
        return sum(due.of for due in self.dues)

    @property
    def overdue(self) -> int:
        return sum(due.state == "over" for due in self.dues)

    @property
    def waiting(self) -> int:
        return sum(due.state in {"due", "some", "over"} for due in self.dues)

    @property
    def later(self) -> int:
        return sum(due.state == "later" for due in self.dues)


NOBODY = Kits(animal_id=0, name="", dues=(), signed=False)  # the blank form that the page copies for a row


@dataclass(frozen=True)
class Row(Kits):
    """One animal, or a group that is one row until split: then the first of its animals stands for all (B4)."""

    number: str
    place: str
    species: str
    day: int
    about: str
    warning: str
    level: str
    log: tuple[Line, ...]  # of the row whose details are open
    leaves: bool
    new_key: str  # of the next thing written down beside the orders
    note_key: str
    seen_key: str
    figures_key: str
    members: tuple[Member, ...] = ()  # of a group: who belongs to the row, its first animal first

    @property
    def animals(self) -> int:
        return max(len(self.members), 1)


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
    rows = _rows(present, on=on, current=current, zone=zone, opened=opened)
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
    rows = _rows(present, on=on, current=current, zone=ZoneInfo(house.time_zone), opened=opened)
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
    return _kits(names, given, on=on, current=current, zone=ZoneInfo(house.time_zone))[animal.pk]


def _kits(
    names: dict[int, str], given: dict[int, list[CareItem]], *, on: date, current: str, zone: ZoneInfo
) -> dict[int, Kits]:
    signed = set(SheetRow.objects.filter(sheet__on=on, animal__in=names).values_list("animal_id", flat=True))
    orders = sheet_dues.standing_orders(on, list(names))

    def dues(animal_id: int) -> Iterator[Due]:
        for order, last in orders[animal_id]:
            facts, is_signed = given[animal_id], animal_id in signed
            due = sheet_dues.due(order, last, facts, on=on, current=current, zone=zone, signed=is_signed)
            if due.of or due.given:
                yield due

    return {
        animal_id: Kits(animal_id=animal_id, name=name, dues=tuple(dues(animal_id)), signed=animal_id in signed)
        for animal_id, name in names.items()
    }


def _rows(
    present: Sequence[InCare], *, on: date, current: str, zone: ZoneInfo, opened: int
) -> tuple[tuple[InCare, Row], ...]:
    """Return each row with the animal that stands for it."""
    names = {one.stay.animal_id: one.stay.animal.name or one.stay.animal.number for one in present}
    given = sheet_log.facts(on, list(names), in_words=opened in names)
    kits_of = _kits(names, given, on=on, current=current, zone=zone)

    def row(together: Sequence[InCare]) -> Row:
        one, members = together[0], sheet_groups.members_of(together)
        animal, kits = one.stay.animal, kits_of[one.stay.animal_id]
        every = members or (Member(animal.pk, kits.name),)
        signed = all(kits_of[each.animal_id].signed for each in every)
        is_open = opened in {each.animal_id for each in every}
        return Row(
            animal_id=animal.pk,
            name=animal.group.name if members else kits.name,
            dues=sheet_groups.dues_of(members, {pk: found.dues for pk, found in kits_of.items()}) or kits.dues,
            signed=signed,
            number=animal.number,
            place=one.place,
            species=animal.species,
            day=(on - one.stay.admitted_on).days + 1,
            about=animal.about,
            warning=animal.warning,
            level=one.level.name if one.level else "",
            log=sheet_groups.log_of(on, every, given, zone=zone, signed=signed) if is_open else (),
            leaves=one.stay.discharged_on == on and one.stay.admitted_on < on,
            new_key=str(uuid4()) if is_open else "",
            note_key=str(uuid4()) if is_open else "",
            seen_key=str(uuid4()) if is_open else "",
            figures_key=str(uuid4()) if is_open else "",
            members=members,
        )

    return tuple((together[0], row(together)) for together in sheet_groups.as_rows(present))


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
