"""The yearly page of what the practice was paid, as a payment to a related party (A4).

Asked stands beside cost and usual fee, and who outside the practice approved the prices.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, Sum

from config import home
from ledger.models import Charge, PriceApproval
from ledger.models.accounts import BANK, CARE, DUE_TO_PRACTICE, NAME_OF
from ledger.queries.reports import Scope, moves
from ledger.queries.sums import accounts_at


@dataclass(frozen=True, kw_only=True)
class CareLine:
    """One kind of care: what it took, what a client pays, what was asked of anybody, and what the funds owe for it."""

    words: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    owed_minor: int

    @property
    def given_minor(self) -> int:
        return self.usual_minor - self.asked_minor


@dataclass(frozen=True, kw_only=True)
class Approval:
    approved_on: date
    from_on: date
    name: str
    office: str
    note: str
    recorded_by: str


@dataclass(frozen=True, kw_only=True)
class RelatedParty:
    """What was due to the practice at the beginning, became due, was paid, and is due at the end."""

    scope: Scope
    lines: tuple[CareLine, ...]
    due_before_minor: int
    paid_minor: int
    approvals: tuple[Approval, ...]

    @property
    def together(self) -> CareLine:
        return CareLine(
            words="Together",
            cost_minor=sum(line.cost_minor for line in self.lines),
            usual_minor=sum(line.usual_minor for line in self.lines),
            asked_minor=sum(line.asked_minor for line in self.lines),
            owed_minor=sum(line.owed_minor for line in self.lines),
        )

    @property
    def due_minor(self) -> int:
        return self.due_before_minor + self.together.owed_minor - self.paid_minor


def related_party(*, scope: Scope) -> RelatedParty:
    """Return what the practice was owed and paid in a period, by book date, in fiscal and other years alike."""
    owed: dict[str, int] = defaultdict(int)
    paid = 0
    for row in moves(scope):
        sign = (row.credit == DUE_TO_PRACTICE) - (row.debit == DUE_TO_PRACTICE)
        other = row.debit if sign > 0 else row.credit
        if sign and other == BANK:
            paid -= sign * row.amount_minor
        elif sign:
            owed[other] += sign * row.amount_minor
    return RelatedParty(
        scope=scope,
        lines=_lines(scope, owed),
        due_before_minor=-accounts_at(on=scope.day_before, as_of=scope.as_of)[DUE_TO_PRACTICE],
        paid_minor=paid,
        approvals=_approvals(scope),
    )


def _lines(scope: Scope, owed: dict[str, int]) -> tuple[CareLine, ...]:
    rows = (
        Charge.objects.filter(entry__on__range=(scope.from_on, scope.to_on), entry__lte=scope.as_of)
        .values("kind")
        .annotate(cost=Sum("cost_minor"), usual=Sum("usual_minor"), asked=Sum("asked_minor"))
    )
    sums = {row["kind"]: row for row in rows}
    kinds = [*CARE, *(code for code in owed if code not in CARE)]
    return tuple(
        CareLine(
            words=NAME_OF[code],
            cost_minor=sums.get(code, {}).get("cost", 0),
            usual_minor=sums.get(code, {}).get("usual", 0),
            asked_minor=sums.get(code, {}).get("asked", 0),
            owed_minor=owed.get(code, 0),
        )
        for code in kinds
        if code in sums or owed.get(code)
    )


def _approvals(scope: Scope) -> tuple[Approval, ...]:
    """Those in force in the period: the last one that began before it, and all that began in it."""
    rows = PriceApproval.objects.filter(from_on__lte=scope.to_on).order_by("from_on", "id")
    before = rows.filter(from_on__lte=scope.from_on).last()
    within = rows.filter(Q(from_on__gt=scope.from_on) | Q(id=before.id if before else None))
    return tuple(
        Approval(
            approved_on=row.approved_on,
            from_on=row.from_on,
            name=row.name,
            office=row.office,
            note=row.note,
            recorded_by=home.person(row.by),
        )
        for row in within
    )
