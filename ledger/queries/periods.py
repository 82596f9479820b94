"""Up to which day the books are closed, and each closing with who closed it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from config import home
from ledger.formulas import chain
from ledger.models import Closing


@dataclass(frozen=True, kw_only=True)
class ClosingLine:
    """One closing. `from_on` is the day after what was closed before, where there was something."""

    entry_number: int
    from_on: date | None
    through_on: date
    closed_on: date
    closed_at: datetime
    by: str
    digest: str
    note: str
    reopened_on: date | None
    reopened_by: str
    reopened_why: str
    is_last: bool

    @property
    def check_number(self) -> str:
        return chain.check_number(self.digest)


def closed_through() -> date | None:
    """Return the last closed day, or None: one look at the last row, however many there are."""
    return Closing.objects.order_by("-entry").values_list("through_on", flat=True).first()


def closings() -> tuple[ClosingLine, ...]:
    """Return every closing, the latest first."""
    rows = list(Closing.objects.select_related("entry__words").order_by("entry"))
    reopened = {row.reopens_id: row for row in rows if row.reopens_id}
    before: dict[int, date | None] = {}
    for earlier, row in zip([None, *rows], rows, strict=False):
        before[row.id] = earlier.through_on if earlier else None
    standing = [row for row in rows if not row.reopens_id and row.id not in reopened]
    last = standing[-1].id if standing else None
    return tuple(
        _line(row, before=before[row.id], reopened=reopened.get(row.id), is_last=row.id == last)
        for row in reversed(rows)
        if not row.reopens_id
    )


def closing(*, number: int) -> ClosingLine | None:
    """Return the closing of this entry number, or None."""
    return next((line for line in closings() if line.entry_number == number), None)


def _line(row: Closing, *, before: date | None, reopened: Closing | None, is_last: bool) -> ClosingLine:
    return ClosingLine(
        entry_number=row.entry_id,
        from_on=before + timedelta(days=1) if before else None,
        through_on=row.through_on,
        closed_on=row.entry.on,
        closed_at=row.entry.recorded_at,
        by=home.person(row.entry.by),
        digest=row.entry.digest,
        note=_note(row),
        reopened_on=reopened.entry.on if reopened else None,
        reopened_by=home.person(reopened.entry.by) if reopened else "",
        reopened_why=_note(reopened) if reopened else "",
        is_last=is_last,
    )


def _note(row: Closing) -> str:
    return row.entry.words.note if hasattr(row.entry, "words") else ""
