"""The priced facts of a day: each line of care with its three figures, ready to be charged.

What is ready becomes a slip for the ledger; what is not stays behind with its reason, and the rest of the
day does not wait for it (B9).
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from clinic.models import Animal, BoardingDay, CareItem, GroupFact, House, SheetRow, Stay
from clinic.queries import in_care, plan_keys
from clinic.queries.alike_items import together
from clinic.queries.day_prices import DayPrices, PricedLine
from clinic.queries.priced_lines import boarding_line, care_line


@dataclass(frozen=True)
class PricedRow:
    animal: Animal
    stay: Stay | None
    level_id: int | None
    place: str
    lines: tuple[PricedLine, ...]
    obstacle: str  # why the whole row stays behind; empty when it is ready
    boards: bool  # a night is among the lines
    late: bool  # the row was signed before: these are late entries

    @property
    def short_of(self) -> int | None:
        """The supply that is counted short, where that is what holds the row back."""
        blocked = next((line for line in self.lines if line.obstacle), None)
        return blocked.used.short.supply_id if blocked and blocked.used.short else None


def priced_day(*, on: date) -> tuple[PricedRow, ...]:
    """Price every unsigned fact of `on`, row by row in the order of the ward; days before the opening are history."""
    if House.objects.filter(opening_on__gt=on).exists():
        return ()
    signed = set(SheetRow.objects.filter(sheet__on=on).values_list("animal_id", flat=True))
    boarded = {row.stay.animal_id: row for row in in_care.on(on, boards_only=True)}
    items = _items(on, {row.stay.animal_id: row.stay.animal for row in boarded.values()})
    plans = plan_keys.on_a_path(animals={*boarded, *items}, on=on)
    services = {item.service_id for found in items.values() for item in found}
    services |= {row.level.service_id for row in boarded.values() if row.level}
    prices = DayPrices(on, services, plans, [item for found in items.values() for item in found])

    # A night can come after its row was signed: the animal was there for a visit, and then stayed.
    nights = _nights(on) if signed & boarded.keys() else set()
    ordered = [row.stay.animal for row in boarded.values()]
    ordered += [found[0].animal for animal_id, found in items.items() if animal_id not in boarded]
    rows = []
    for sharing in who_share(ordered, items):
        untouched = prices.shelves.mark()
        made = [
            _row(animal, boarded.get(animal.pk), items, boards=animal.pk not in nights, signed=signed, prices=prices)
            for animal in sharing
        ]
        held = next((row for row in made if row and row.obstacle), None)
        if held:
            prices.shelves.back_to(untouched)
        rows += [_held_with(row, held) for row in made if row]
    return tuple(rows)


def _row(
    animal: Animal,
    lies: in_care.InCare | None,
    items: dict[int, list[CareItem]],
    *,
    boards: bool,
    signed: set[int],
    prices: DayPrices,
) -> PricedRow | None:
    lines, late = [], animal.pk in signed
    if lies and boards:
        lines.append(boarding_line(lies, late=late, prices=prices))
    lines += [care_line(alike, prices=prices) for alike in together(items.get(animal.pk, []))]
    if not lines:
        return None
    return PricedRow(
        animal=animal,
        stay=lies.stay if lies else None,
        level_id=lies.level.pk if lies and lies.level else None,
        place=lies.place if lies else "",
        lines=tuple(lines),
        obstacle=next((line.obstacle for line in lines if line.obstacle), ""),
        boards=lies is not None and boards,
        late=late,
    )


def _held_with(row: PricedRow, held: PricedRow | None) -> PricedRow:
    """Hold a row back with the one it shares a fact with: the parts of a whole are signed off together."""
    if held is None or row.obstacle:
        return row
    return replace(row, obstacle=f"it shares what {held.animal.name or held.animal.number} got: {held.obstacle}")


def who_share(animals: Sequence[Animal], items: dict[int, list[CareItem]]) -> list[list[Animal]]:
    """Put the animals together that share a fact; nearly all stand alone."""
    first: dict[int, int] = {}  # of a whole: where its animals stand
    found: list[list[Animal]] = []
    for animal in animals:
        wholes = {item.group_fact_id for item in items.get(animal.pk, ()) if item.group_fact_id}
        if not wholes:
            found.append([animal])
            continue
        places = sorted({first[whole] for whole in wholes if whole in first})
        at = places[0] if places else len(found)
        if at == len(found):
            found.append([])
        found[at].append(animal)
        for other in places[1:]:
            found[at] += found[other]
            found[other] = []
        first = {whole: at if place in places else place for whole, place in first.items()} | dict.fromkeys(wholes, at)
    return [sharing for sharing in found if sharing]


def _nights(on: date) -> set[int]:
    return set(BoardingDay.objects.filter(on=on).values_list("animal_id", flat=True))


def _items(on: date, boarded: dict[int, Animal]) -> dict[int, list[CareItem]]:
    """Return the unsigned facts of `on` by animal, each with its service and its animal; few are of visitors."""
    found: dict[int, list[CareItem]] = defaultdict(list)
    items = CareItem.objects.filter(on=on, undone_at__isnull=True, signing__isnull=True)
    wholes: set[int] = set()
    for item in items.select_related("service").order_by("recorded_at", "pk"):
        found[item.animal_id].append(item)
        if item.group_fact_id:
            wholes.add(item.group_fact_id)
    facts = GroupFact.objects.in_bulk(wholes) if wholes else {}
    visitors = found.keys() - boarded.keys()
    animals = Animal.objects.select_related("partner").in_bulk(visitors) if visitors else {}
    for animal_id, given in found.items():
        for item in given:
            item.animal = boarded.get(animal_id) or animals[animal_id]
            if item.group_fact_id:
                item.group_fact = facts[item.group_fact_id]
    return found
