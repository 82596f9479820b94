"""Writes the line in the history that every change of a care fact leaves."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from clinic.models import Animal, Change, User


def line(
    *,
    animal: Animal,
    what: str,
    what_id: int,
    by: User,
    at: datetime,
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
    why: str = "",
) -> Change:
    """Return a line that is not written yet."""
    return Change(
        animal=animal, what=what, what_id=what_id, before=before or {}, after=after or {}, why=why, by=by, at=at
    )


def note(**words: Any) -> None:
    """Write one line; `words` are those of `line`."""
    note_all([line(**words)])


def note_all(lines: Iterable[Change]) -> None:
    Change.objects.bulk_create(lines)
