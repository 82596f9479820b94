"""The limits of one fund, or of an agreement's own fund, and what is used of them this month (D2, F1)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, Sum

from config import home
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


@dataclass(frozen=True, kw_only=True)
class LimitInForce:
    fund_id: int
    fund_name: str
    per_words: str
    most_minor: int
    from_on: date
    until_on: date | None
    by: str


def limits_in_force(*, on: date) -> tuple[LimitInForce, ...]:
    """Return every limit of an open fund or agreement that holds on a day or will hold, by the fund's name."""
    rows = Limit.objects.filter(Q(until_on=None) | Q(until_on__gte=on), fund__closed_on=None).select_related("fund")
    return tuple(
        LimitInForce(
            fund_id=row.fund_id,
            fund_name=row.fund.name,
            per_words=Limit.Per(row.per).label,
            most_minor=row.most_minor,
            from_on=row.from_on,
            until_on=row.until_on,
            by=home.person(row.made_by),
        )
        for row in rows.order_by("fund__name", "from_on", "id")
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
