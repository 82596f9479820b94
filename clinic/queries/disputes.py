"""Lines that partners dispute: those that wait for an answer, and those answered (F4)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from clinic.models import Animal, Dispute, Partner


@dataclass(frozen=True)
class DisputeLine:
    id: int
    partner: str
    animal: str
    entry_number: int
    words: str
    by: str
    at: datetime
    answer: str
    answered_by: str

    @property
    def waits(self) -> bool:
        return not self.answer


def disputes_of(*, partner: Partner, animal: Animal | None = None) -> tuple[DisputeLine, ...]:
    """Return a partner's disputes, of one animal or of all: those that wait first, then the newest."""
    rows = Dispute.objects.filter(partner=partner).select_related("partner", "animal", "by", "settled_by")
    rows = rows.filter(animal=animal) if animal else rows
    lines = [_line(row) for row in rows.order_by("-at", "-pk")]
    return tuple(sorted(lines, key=lambda line: not line.waits))


def waiting() -> tuple[DisputeLine, ...]:
    """Return every dispute that waits for an answer, the oldest first."""
    rows = Dispute.objects.filter(settled_at=None).select_related("partner", "animal", "by", "settled_by")
    return tuple(_line(row) for row in rows.order_by("at", "pk"))


def disputed(*, numbers: Iterable[int]) -> frozenset[int]:
    """Return which of these entries are disputed and not settled: they are not asked for meanwhile."""
    rows = Dispute.objects.filter(entry_number__in=list(numbers), settled_at=None)
    return frozenset(rows.values_list("entry_number", flat=True))


def _line(row: Dispute) -> DisputeLine:
    return DisputeLine(
        id=row.pk,
        partner=row.partner.name,
        animal=row.animal.name or row.animal.number,
        entry_number=row.entry_number,
        words=row.words,
        by=row.by.name,
        at=row.at,
        answer=row.settled_words,
        answered_by=row.settled_by.name if row.settled_by else "",
    )
