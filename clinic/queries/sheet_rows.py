"""The rows of a ward sheet: of each animal or group what is due this round, and what was given."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import uuid4
from zoneinfo import ZoneInfo

from clinic.models import CareItem, SheetRow
from clinic.queries import sheet_dues, sheet_groups, sheet_log
from clinic.queries.in_care import InCare
from clinic.queries.sheet_dues import Due
from clinic.queries.sheet_groups import Member
from clinic.queries.sheet_log import Line


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


def kits_of(
    names: dict[int, str], given: dict[int, list[CareItem]], *, on: date, current: str, zone: ZoneInfo
) -> dict[int, Kits]:
    """Return by animal what is to be given to it and what was, in a fixed number of queries."""
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


def rows_of(
    present: Sequence[InCare], *, on: date, current: str, zone: ZoneInfo, opened: int
) -> tuple[tuple[InCare, Row], ...]:
    """Return each row with the animal that stands for it."""
    names = {one.stay.animal_id: one.stay.animal.name or one.stay.animal.number for one in present}
    given = sheet_log.facts(on, list(names), in_words=opened in names)
    every_kit = kits_of(names, given, on=on, current=current, zone=zone)

    def row(together: Sequence[InCare]) -> Row:
        one, members = together[0], sheet_groups.members_of(together)
        animal, kits = one.stay.animal, every_kit[one.stay.animal_id]
        every = members or (Member(animal.pk, kits.name),)
        signed = all(every_kit[each.animal_id].signed for each in every)
        is_open = opened in {each.animal_id for each in every}
        return Row(
            animal_id=animal.pk,
            name=animal.group.name if members else kits.name,
            dues=sheet_groups.dues_of(members, {pk: found.dues for pk, found in every_kit.items()}) or kits.dues,
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
