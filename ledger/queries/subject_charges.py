"""What has been charged for one subject of care: its figures by day and by kind, and who paid."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Sum

from ledger.models import Charge, Share, accounts


@dataclass(frozen=True, kw_only=True)
class KindSum:
    code: str
    words: str
    cost_minor: int
    usual_minor: int
    asked_minor: int


@dataclass(frozen=True, kw_only=True)
class PayerSum:
    payer: str  # fund, agreement, nobody or given
    rank: int
    fund_id: int | None
    words: str
    reason: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class SubjectCharges:
    """Corrections are counted in, so these are the figures as they stand today."""

    asked_by_day: dict[date, int]
    kinds: tuple[KindSum, ...]
    payers: tuple[PayerSum, ...]

    @property
    def cost_minor(self) -> int:
        return sum(kind.cost_minor for kind in self.kinds)

    @property
    def usual_minor(self) -> int:
        return sum(kind.usual_minor for kind in self.kinds)

    @property
    def asked_minor(self) -> int:
        return sum(kind.asked_minor for kind in self.kinds)


def subject_charges(*, subject_key: str, since: date | None = None) -> SubjectCharges:
    """Sum the charges of a subject, by day of care from `since` on; three reads however many there are."""
    charges = Charge.objects.filter(subject_key=subject_key)
    if since:
        charges = charges.filter(care_on__gte=since)
    by_day = charges.values_list("care_on").annotate(Sum("asked_minor")).order_by("care_on")
    return SubjectCharges(asked_by_day=dict(by_day), kinds=_kinds(charges), payers=_payers(charges))


def name_of(kind: str) -> str:
    return accounts.NAME_OF[kind]


def order_of(kind: str) -> int:
    return accounts.CARE.index(kind)


def _kinds(charges) -> tuple[KindSum, ...]:
    sums = charges.values_list("kind__code").annotate(Sum("cost_minor"), Sum("usual_minor"), Sum("asked_minor"))
    found = (
        KindSum(code=code, words=name_of(code), cost_minor=cost, usual_minor=usual, asked_minor=asked)
        for code, cost, usual, asked in sums
        if cost or usual or asked
    )
    return tuple(sorted(found, key=lambda kind: order_of(kind.code)))


def _payers(charges) -> tuple[PayerSum, ...]:
    """Sum the shares by payer; what a payer took back again does not show."""
    sums: dict[tuple[str, int | None, str], int] = defaultdict(int)
    told: dict[tuple[str, int | None, str], tuple[int, str]] = {}
    shares = Share.objects.filter(charge__in=charges).values_list("payer", "fund_id", "fund__name", "rank", "reason")
    for payer, fund_id, name, rank, reason, amount in shares.annotate(Sum("amount_minor")).order_by("rank"):
        key = (payer, fund_id, name or Share.Payer(payer).label)
        sums[key] += amount
        if key not in told or amount > 0:
            told.setdefault(key, (rank, reason))
    return tuple(
        PayerSum(payer=key[0], rank=rank, fund_id=key[1], words=key[2], reason=reason, amount_minor=sums[key])
        for key, (rank, reason) in sorted(told.items(), key=lambda item: (item[1][0], item[0][2]))
        if sums[key]
    )
