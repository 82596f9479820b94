"""What was signed off for a day: the rows, by whom, and their lines as the books keep them."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo

from clinic.formulas import sheet_keys
from clinic.models import CareItem, House, SheetRow
from clinic.queries.alike_items import charge_key, together
from ledger.queries import charges
from ledger.queries.charges import ChargeLine


@dataclass(frozen=True)
class SignedLine:
    words: str
    quantity: str
    entry_number: int
    asked_minor: int
    is_corrected: bool
    payers: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class SignedRow:
    animal_id: int
    name: str
    species: str
    by: str
    at: str
    lines: tuple[SignedLine, ...]

    @property
    def asked_minor(self) -> int:
        return sum(line.asked_minor for line in self.lines)


@dataclass(frozen=True)
class SignedDay:
    on: date
    rows: tuple[SignedRow, ...]

    @property
    def asked_minor(self) -> int:
        return sum(row.asked_minor for row in self.rows)


def signed_day(*, on: date, house: House) -> SignedDay:
    """Return what was signed off for a day, as the books keep it."""
    zone = ZoneInfo(house.time_zone)
    rows = SheetRow.objects.filter(sheet__on=on).select_related("animal", "signing__by").order_by("signing", "pk")
    items = CareItem.objects.filter(on=on, signing__isnull=False, undone_at__isnull=True).order_by("recorded_at", "pk")
    keys: dict[int, list[UUID]] = {row.animal_id: [sheet_keys.boarding(on, animal_key=row.animal.key)] for row in rows}
    by_animal: dict[int, list[CareItem]] = defaultdict(list)
    for item in items:
        by_animal[item.animal_id].append(item)
    for animal_id, found in by_animal.items():
        keys.setdefault(animal_id, []).extend(charge_key(on, alike) for alike in together(found))
    posted = charges.of_keys(slip_keys=[key for found in keys.values() for key in found])
    return SignedDay(
        on=on,
        rows=tuple(
            SignedRow(
                animal_id=row.animal_id,
                name=row.animal.name or row.animal.number,
                species=row.animal.species,
                by=row.signing.by.name,
                at=f"{row.signing.at.astimezone(zone):%B %-d, %-H:%M}",
                lines=tuple(_signed_line(posted[key]) for key in keys[row.animal_id] if key in posted),
            )
            for row in rows
        ),
    )


def _signed_line(line: ChargeLine) -> SignedLine:
    return SignedLine(
        words=line.words,
        quantity="" if line.quantity == 1 else f"{line.quantity.normalize():f}",
        entry_number=line.entry_number,
        asked_minor=line.asked_minor,
        is_corrected=line.reversed_by is not None,
        payers=tuple((payer.label, payer.amount_minor) for payer in line.payers),
    )
