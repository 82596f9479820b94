"""How a group stands on the ward sheet: one row, with what is due to all and to each, and what was written of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from zoneinfo import ZoneInfo

from clinic.models import CareItem
from clinic.queries import sheet_log
from clinic.queries.in_care import InCare
from clinic.queries.sheet_dues import Due
from clinic.queries.sheet_log import Line


@dataclass(frozen=True)
class Member:
    animal_id: int
    name: str


def as_rows(present: Sequence[InCare]) -> list[list[InCare]]:
    """Put the animals of a group together where the first that came lies; any other is a row of its own."""
    groups: dict[int, list[InCare]] = {}
    for one in present:
        groups.setdefault(one.stay.animal.group_id or -one.stay.animal_id, []).append(one)
    return [sorted(row, key=lambda one: one.stay.animal_id) for row in groups.values()]


def members_of(row: Sequence[InCare]) -> tuple[Member, ...]:
    """Name who belongs to a row, where it is a group's."""
    if len(row) == 1:
        return ()
    return tuple(Member(one.stay.animal_id, one.stay.animal.name or one.stay.animal.number) for one in row)


def dues_of(members: Sequence[Member], dues: Mapping[int, Sequence[Due]]) -> tuple[Due, ...]:
    """Return what is due to all first, then to each, saying to whom."""
    every = [
        (due, f"for all {len(members)}" if due.for_all else one.name) for one in members for due in dues[one.animal_id]
    ]
    said = [replace(due, words=", ".join(part for part in (due.words, whose) if part)) for due, whose in every]
    return tuple(sorted(said, key=lambda due: not due.for_all))


def log_of(
    on: date,
    members: Sequence[Member],
    given: Mapping[int, list[CareItem]],
    *,
    zone: ZoneInfo,
    signed: bool,
) -> tuple[Line, ...]:
    """Return what was written of a row's animals, what all got once and of the others whose it was."""
    ids = [one.animal_id for one in members]
    notes, lines, seen = sheet_log.notes(on, ids), [], set[int]()
    for one in members:
        own = [item for item in given[one.animal_id] if item.group_fact_id is None]
        wholes = [item for item in given[one.animal_id] if item.group_fact_id and item.group_fact_id not in seen]
        seen |= {item.group_fact_id for item in wholes if item.group_fact_id}
        lines += sheet_log.log(wholes, [], zone=zone, signed=signed)
        for line in sheet_log.log(own, notes.get(one.animal_id, []), zone=zone, signed=signed):
            lines.append(replace(line, words=f"{one.name}: {line.words}") if len(members) > 1 else line)
    return tuple(sorted(lines, key=lambda line: line.moment))
