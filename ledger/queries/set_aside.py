"""What a fund has set aside for plans and not yet spent: now, and on any day of a period."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from ledger.models import Commitment, CommitmentMove


@dataclass(frozen=True, kw_only=True)
class AsideLine:
    """One plan for which money stands aside."""

    words: str
    subject_key: str
    made_on: date
    amount_minor: int
    left_minor: int

    @property
    def spent_minor(self) -> int:
        return self.amount_minor - self.left_minor


@dataclass(frozen=True, kw_only=True)
class SetAside:
    """`changes` are the days on which what is set aside rose or fell, and by how much, oldest first."""

    lines: tuple[AsideLine, ...]
    changes: tuple[tuple[date, int], ...]

    @property
    def amount_minor(self) -> int:
        return sum(line.amount_minor for line in self.lines)

    @property
    def spent_minor(self) -> int:
        return sum(line.spent_minor for line in self.lines)

    @property
    def left_minor(self) -> int:
        return sum(line.left_minor for line in self.lines)

    def on(self, day: date) -> int:
        return sum(minor for on, minor in self.changes if on <= day)


def set_aside(*, fund_id: int, from_on: date) -> SetAside:
    """Return what stands aside now, and how it changed on every day since `from_on` and before."""
    rows = list(
        Commitment.objects.filter(fund=fund_id)
        .filter(Q(ended_on=None, left_minor__gt=0) | Q(ended_on__gte=from_on) | Q(moves__entry__on__gte=from_on))
        .distinct()
        .order_by("made_on", "id")
    )
    changes: dict[date, int] = defaultdict(int)
    for row in rows:
        changes[row.made_on] += row.amount_minor
        if row.ended_on:
            changes[row.ended_on] -= row.left_minor
    moves = CommitmentMove.objects.filter(commitment__in=rows)
    for on, minor in moves.values_list("entry__on", "amount_minor"):
        changes[on] -= minor
    return SetAside(
        lines=tuple(
            AsideLine(
                words=row.words,
                subject_key=row.subject_key,
                made_on=row.made_on,
                amount_minor=row.amount_minor,
                left_minor=row.left_minor,
            )
            for row in rows
            if row.left_minor and row.ended_on is None
        ),
        changes=tuple(sorted(changes.items())),
    )
