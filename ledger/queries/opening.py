"""The opening balances that have been recorded."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ledger.models import Entry, Inflow
from ledger.queries import one_donor


@dataclass(frozen=True, kw_only=True)
class OpeningLine:
    entry_number: int
    fund_id: int
    fund_name: str
    on: date
    donor_name: str
    received_on: date
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class Opening:
    lines: tuple[OpeningLine, ...]

    @property
    def together_minor(self) -> int:
        return sum(line.amount_minor for line in self.lines)


def opening() -> Opening:
    """Return every opening balance that stands, in the order of recording."""
    rows = Inflow.objects.filter(entry__kind=Entry.Kind.OPENING, entry__reversed_by=None).order_by("id")
    return Opening(
        lines=tuple(
            OpeningLine(
                entry_number=row.entry_id,
                fund_id=row.fund_id,
                fund_name=row.fund.name,
                on=row.entry.on,
                donor_name=row.donor_name or "",
                received_on=row.received_on,
                amount_minor=row.amount_minor,
            )
            for row in rows.select_related("fund", "entry").annotate(donor_name=one_donor.told("gift__donor"))
        )
    )
