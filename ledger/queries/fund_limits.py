"""The limits of one fund, or of an agreement's own fund, and what is used of them this month (D2, F1)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Sum

from ledger.models import Fund, Limit
from ledger.queries.limits import shares_in_order


@dataclass(frozen=True, kw_only=True)
class LimitLine:
    """`used_minor` is the month's use for a limit per month; else the most that one animal has used of it."""

    limit_id: int
    per_words: str
    most_minor: int
    used_minor: int
    from_on: date
    until_on: date | None


@dataclass(frozen=True, kw_only=True)
class FundLimits:
    fund_id: int
    fund_name: str
    kind: str
    party_key: str
    lines: tuple[LimitLine, ...]


def fund_limits(*, fund_id: int, today: date) -> FundLimits | None:
    """Return a fund's limits, or None where there is no such fund that pays for care."""
    fund = Fund.objects.filter(id=fund_id).exclude(kind__in=(Fund.Kind.GIVEN, Fund.Kind.GOODS)).first()
    if fund is None:
        return None
    return FundLimits(
        fund_id=fund.id,
        fund_name=fund.name,
        kind=fund.kind,
        party_key=fund.party_key,
        lines=tuple(_line(row, today) for row in fund.limits.order_by("-from_on", "-id")),
    )


def _line(row: Limit, today: date) -> LimitLine:
    shares = shares_in_order().filter(fund=row.fund_id)
    if row.per != Limit.Per.ANIMAL:
        shares = shares.filter(charge__care_on__year=today.year, charge__care_on__month=today.month)
    if row.per == Limit.Per.MONTH:
        used = shares.aggregate(total=Sum("amount_minor"))["total"] or 0
    else:
        sums = shares.values("charge__subject_key").annotate(total=Sum("amount_minor")).order_by("-total")
        used = sums.values_list("total", flat=True).first() or 0
    return LimitLine(
        limit_id=row.id,
        per_words=Limit.Per(row.per).label,
        most_minor=row.most_minor,
        used_minor=used,
        from_on=row.from_on,
        until_on=row.until_on,
    )
