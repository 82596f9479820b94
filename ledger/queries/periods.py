"""Up to which day the books are closed, and each closing with who closed it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from config import home
from ledger.formulas import chain
from ledger.models import Closing, Entry

MOST = 24  # closings on a page


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


def begun_on() -> date | None:
    """Return the earliest book date, or None as long as the books are empty."""
    return Entry.objects.order_by("on", "id").values_list("on", flat=True).first()


def closings() -> tuple[ClosingLine, ...]:
    """Return the latest closings, the last one first; those of earlier years are found by their number."""
    rows = list(_rows().order_by("-entry")[:MOST])
    names = _names(rows)
    standing = [row for row in rows if not row.reopens_id and not hasattr(row, "reopened_by")]
    last = standing[0].id if standing else None
    return tuple(
        _line(row, before=earlier, names=names, is_last=row.id == last)
        for row, earlier in zip(rows, [*rows[1:], *map(_before, rows[-1:])], strict=True)
        if not row.reopens_id
    )


def closing(*, number: int) -> ClosingLine | None:
    """Return the closing of this entry number, or None."""
    row = _rows().filter(entry=number, reopens=None).first()
    if row is None:
        return None
    later = Closing.objects.filter(entry__gt=number, reopens=None, reopened_by=None).exists()
    is_last = not later and not hasattr(row, "reopened_by")
    return _line(row, before=_before(row), names=_names([row]), is_last=is_last)


def _rows() -> QuerySet[Closing]:
    return Closing.objects.select_related("entry__words", "reopened_by__entry__words")


def _before(row: Closing) -> Closing | None:
    return Closing.objects.filter(entry__lt=row.entry_id).order_by("-entry").first()


def _names(rows: list[Closing]) -> dict[int, str]:
    people = {row.entry.by for row in rows} | {row.reopened_by.entry.by for row in rows if hasattr(row, "reopened_by")}
    return {person: home.person(person) for person in people}


def _line(row: Closing, *, before: Closing | None, names: dict[int, str], is_last: bool) -> ClosingLine:
    reopened = getattr(row, "reopened_by", None)
    return ClosingLine(
        entry_number=row.entry_id,
        from_on=before.through_on + timedelta(days=1) if before and before.through_on else None,
        through_on=row.through_on,
        closed_on=row.entry.on,
        closed_at=row.entry.recorded_at,
        by=names[row.entry.by],
        digest=row.entry.digest,
        note=_note(row),
        reopened_on=reopened.entry.on if reopened else None,
        reopened_by=names[reopened.entry.by] if reopened else "",
        reopened_why=_note(reopened) if reopened else "",
        is_last=is_last,
    )


def _note(row: Closing) -> str:
    return row.entry.words.note if hasattr(row.entry, "words") else ""
