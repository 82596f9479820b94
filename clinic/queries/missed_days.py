"""Three days side by side: what was due to whom and is not written down, each time a box that nobody has ticked."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from clinic.formulas import sheet_keys
from clinic.models import CareItem, House, Order, SheetRow
from clinic.queries import in_care, sheet_dues, sheet_log

DAYS = 3


@dataclass(frozen=True)
class Box:
    """One time that something was due and is not written down."""

    order: Order
    on: date
    round: str
    key: UUID

    @property
    def value(self) -> str:
        return f"{self.order.pk}-{self.on.isoformat()}-{self.round}"


@dataclass(frozen=True)
class Cell:
    """One order on one day."""

    on: date
    due: bool
    given: tuple[str, ...]  # the rounds written down, with initials
    boxes: tuple[Box, ...]
    signed: bool


@dataclass(frozen=True)
class OrderLine:
    name: str
    words: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class AnimalLines:
    animal_id: int
    name: str
    place: str
    room: str
    orders: tuple[OrderLine, ...]


@dataclass(frozen=True)
class MissedDays:
    days: tuple[date, ...]
    animals: tuple[AnimalLines, ...]
    earlier: date | None  # the last of the three days before, where the house was open
    later: date | None

    @property
    def boxes(self) -> tuple[Box, ...]:
        every = (cell for animal in self.animals for order in animal.orders for cell in order.cells)
        return tuple(box for cell in every for box in cell.boxes)


def missed_days(*, last: date, today: date, house: House, animal_id: int | None = None) -> MissedDays:
    """Return the three days up to `last`, yesterday at most, of one animal or of all that had something missing."""
    last = min(last, today - timedelta(days=1))
    days = tuple(day for back in range(DAYS - 1, -1, -1) if (day := last - timedelta(days=back)) >= house.opening_on)
    cells: dict[int, dict[int, dict[date, Cell]]] = defaultdict(lambda: defaultdict(dict))
    orders: dict[int, Order] = {}
    stood: dict[int, in_care.InCare] = {}
    for day in days:
        present = in_care.on(day, animals=None if animal_id is None else [animal_id])
        animals = [one.stay.animal_id for one in present]
        stood |= {one.stay.animal_id: one for one in present}
        given = sheet_log.facts(day, animals, in_words=False)
        signed = set(SheetRow.objects.filter(sheet__on=day, animal__in=animals).values_list("animal_id", flat=True))
        for animal, standing in sheet_dues.standing_orders(day, animals).items():
            for order, _ in standing:
                orders[order.pk] = order
                cells[animal][order.pk][day] = _cell(order, day, given[animal], signed=animal in signed)
    rows = (_animal(one, cells[animal], orders, days) for animal, one in stood.items())
    after = min(last + timedelta(days=DAYS), today - timedelta(days=1))
    return MissedDays(
        days=days,
        animals=tuple(row for row in rows if animal_id is not None or _misses(row)),
        earlier=last - timedelta(days=DAYS) if days and days[0] > house.opening_on else None,
        later=after if after > last else None,
    )


def _cell(order: Order, day: date, given: list[CareItem], *, signed: bool) -> Cell:
    mine = [item for item in given if item.order_id == order.pk]
    ticks = [item for item in mine if item.undone_at is None]
    wanted = list(order.rounds) if order.is_due_on(day) else []
    kept = {item.round for item in ticks}
    return Cell(
        on=day,
        due=bool(wanted),
        given=tuple(f"{item.round}, {item.recorded_by.initials}" for item in ticks),
        boxes=tuple(
            Box(order, day, name, sheet_keys.tick(day, order_key=order.key, round_name=name, turn=_turn(mine, name)))
            for name in wanted
            if name not in kept
        ),
        signed=signed,
    )


def _turn(mine: list[CareItem], name: str) -> int:
    return sum(item.round == name for item in mine)


def _animal(
    one: in_care.InCare, cells: dict[int, dict[date, Cell]], orders: dict[int, Order], days: tuple[date, ...]
) -> AnimalLines:
    animal = one.stay.animal
    return AnimalLines(
        animal_id=animal.pk,
        name=animal.name or animal.number,
        place=one.place,
        room=one.room,
        orders=tuple(
            OrderLine(
                name=orders[order].service.name,
                words=orders[order].words,
                cells=tuple(by_day.get(day, Cell(day, False, (), (), False)) for day in days),
            )
            for order, by_day in sorted(cells.items())
        ),
    )


def _misses(row: AnimalLines) -> bool:
    return any(cell.boxes for order in row.orders for cell in order.cells)
