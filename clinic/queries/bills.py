"""Bills: what is to check, what is to pay, what is settled (B8)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from clinic.models import Animal, Bill
from ledger.queries.bills import BillLine, bill_lines

SETTLED_SHOWN = 40


@dataclass(frozen=True)
class BillRow:
    """One bill; `state` is to check, to pay, waits for a payer, paid or given by its sender."""

    id: int
    animal_id: int
    animal: str
    sender: str
    words: str
    number: str
    care_on: date
    added_on: datetime
    added_by: str
    state: str
    amount_minor: int | None
    owed_minor: int
    nobody_minor: int
    paid_on: date | None
    entry_number: int | None
    is_picture: bool
    checked_by: str

    @property
    def is_to_check(self) -> bool:
        return self.state == "to check"

    @property
    def is_to_pay(self) -> bool:
        return self.owed_minor > 0


@dataclass(frozen=True)
class Bills:
    to_check: tuple[BillRow, ...]
    to_pay: tuple[BillRow, ...]
    settled: tuple[BillRow, ...]

    @property
    def to_pay_minor(self) -> int:
        return sum(row.owed_minor for row in self.to_pay)


def bills() -> Bills:
    checked = _rows(Bill.objects.exclude(state=Bill.State.TO_CHECK).order_by("-care_on", "-pk"))
    return Bills(
        to_check=to_check(),
        to_pay=tuple(row for row in checked if row.is_to_pay or row.nobody_minor),
        settled=tuple(row for row in checked if not row.is_to_pay and not row.nobody_minor)[:SETTLED_SHOWN],
    )


def to_check(*, until: date | None = None) -> tuple[BillRow, ...]:
    """Return the bills that nobody has checked, the oldest first; with `until` those of care by that day."""
    waiting = Bill.objects.filter(state=Bill.State.TO_CHECK)
    return _rows((waiting.filter(care_on__lte=until) if until else waiting).order_by("added_at", "pk"))


def of_animal(*, animal: Animal) -> tuple[BillRow, ...]:
    return _rows(Bill.objects.filter(animal=animal).order_by("-care_on", "-pk"))


def bill(*, bill_id: int) -> BillRow | None:
    return next(iter(_rows(Bill.objects.filter(pk=bill_id))), None)


def _rows(found) -> tuple[BillRow, ...]:
    rows = list(found.select_related("animal", "added_by", "checked_by"))
    lines = bill_lines(slip_keys=[row.slip_key for row in rows if row.slip_key])
    return tuple(_row(row, lines.get(row.slip_key)) for row in rows)


def _row(row: Bill, line: BillLine | None) -> BillRow:
    return BillRow(
        id=row.pk,
        animal_id=row.animal_id,
        animal=row.animal.name or row.animal.number,
        sender=row.sender,
        words=row.words,
        number=row.number,
        care_on=row.care_on,
        added_on=row.added_at,
        added_by=row.added_by.name,
        state=_state(row, line),
        amount_minor=row.amount_minor,
        owed_minor=max(line.owed_minor, 0) if line else 0,
        nobody_minor=line.nobody_minor if line else 0,
        paid_on=line.paid_on if line else None,
        entry_number=line.entry_number if line else None,
        is_picture=row.content_type.startswith("image/"),
        checked_by=row.checked_by.name if row.checked_by else "",
    )


def _state(row: Bill, line: BillLine | None) -> str:
    if line is None or row.state != Bill.State.ACCEPTED:
        return row.get_state_display()
    if line.owed_minor > 0:
        return "to pay"
    if line.nobody_minor:
        return "waits for a payer"
    return "paid" if line.paid_minor else "taken back"
