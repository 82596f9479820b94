"""Decisions that stand for an animal's unpaid care, with what is used of each (D5)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from config import home
from ledger.models import StandingDecision


@dataclass(frozen=True, kw_only=True)
class StandingLine:
    decision_id: int
    take: str
    take_words: str
    most_minor: int | None
    used_minor: int
    from_on: date
    until_on: date | None
    by_words: str
    why: str


def standing_decisions(*, subject_key: str) -> tuple[StandingLine, ...]:
    """Return an animal's, the newest first."""
    return tuple(
        StandingLine(
            decision_id=row.id,
            take=row.take,
            take_words=StandingDecision.Take(row.take).label,
            most_minor=row.most_minor,
            used_minor=row.used_minor,
            from_on=row.from_on,
            until_on=row.until_on,
            by_words=home.person(row.made_by),
            why=row.why,
        )
        for row in StandingDecision.objects.filter(subject_key=subject_key).order_by("-id")
    )


def is_of(*, decision_id: int, subject_key: str) -> bool:
    return StandingDecision.objects.filter(id=decision_id, subject_key=subject_key).exists()
