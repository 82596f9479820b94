"""What was written on a row of the ward sheet: facts and notes, by whom and when."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from clinic.models import CareItem, Observation, Service
from clinic.queries.sheet_dues import clock_words

OF_A_TICK = (
    "animal_id",
    "order_id",
    "group_fact_id",
    "service_id",
    "quantity",
    "round",
    "recorded_at",
    "undone_at",
    "recorded_by__initials",
)


@dataclass(frozen=True)
class Line:
    """Something written on the sheet today: what, by whom, when, and whether it can be undone."""

    item_id: int | None
    at: str
    by: str
    words: str
    undoable: bool
    late: bool
    moment: datetime  # of writing it down: lines stand in its order


def facts(on: date, animals: list[int], *, in_words: bool) -> dict[int, list[CareItem]]:
    """Return by animal what was given; `in_words` reads along what each was, for its line."""
    found: dict[int, list[CareItem]] = defaultdict(list)
    items = CareItem.objects.filter(on=on, animal__in=animals)
    if in_words:
        items = items.select_related("service", "recorded_by", "group_fact")
    else:
        items = items.select_related("recorded_by").only(*OF_A_TICK)
    for item in items.order_by("recorded_at", "pk"):
        found[item.animal_id].append(item)
    return found


def notes(on: date, animals: list[int]) -> dict[int, list[Observation]]:
    found: dict[int, list[Observation]] = defaultdict(list)
    for note in (
        Observation.objects.filter(on=on, animal__in=animals).select_related("recorded_by").order_by("recorded_at")
    ):
        found[note.animal_id].append(note)
    return found


def log(items: list[CareItem], seen: list[Observation], *, zone: ZoneInfo, signed: bool) -> tuple[Line, ...]:
    lines = [
        Line(
            item_id=item.pk,
            at=clock_words(item.recorded_at, zone),
            by=item.recorded_by.initials,
            words=_item_words(item),
            undoable=not signed and item.undone_at is None and item.signing_id is None,
            late=item.late,
            moment=item.recorded_at,
        )
        for item in items
    ]
    lines += [
        Line(
            item_id=None,
            at=clock_words(note.recorded_at, zone),
            by=note.recorded_by.initials,
            words=_note_words(note),
            undoable=False,
            late=False,
            moment=note.recorded_at,
        )
        for note in seen
    ]
    return tuple(sorted(lines, key=lambda line: line.moment))


def _item_words(item: CareItem) -> str:
    quantity = item.group_fact.quantity if item.group_fact else item.quantity
    count = f" × {quantity.normalize():f}" if quantity != 1 else ""
    shared = f" for all {item.group_fact.count}" if item.group_fact else ""
    unit = f" {item.service.unit}s" if item.service.kind == Service.Kind.STAFF_TIME else ""
    free = ", time given free" if item.given_free else ""
    undone = ", taken back" if item.undone_at else ""
    late = f", late entry {item.get_late_source_display()}" if item.late else ""
    return f"{item.service.name}{count}{unit}{shared}{free}{late}{undone}"


def _note_words(note: Observation) -> str:
    value = f"{note.value.normalize():f}" if note.value is not None else ""
    scale = f" of {note.maximum.normalize():f}" if note.maximum is not None else ""
    figure = f"{value}{scale} {note.unit}".strip()
    if note.kind == Observation.Kind.NOTE:
        return f"“{note.words}”"
    return ": ".join(part for part in (note.get_kind_display(), f"{figure} {note.words}".strip()) if part)
