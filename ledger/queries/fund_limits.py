"""The limits of one fund, or of an agreement's own fund, and what is used of them this month (D2, F1)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Max

from ledger.models import Fund, Limit, LimitUse


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
    used = LimitUse.objects.filter(fund=row.fund_id)
    if row.per == Limit.Per.ANIMAL:
        used = used.filter(month=None)
    else:
        used = used.filter(month=today.replace(day=1))
        used = used.filter(subject_key="") if row.per == Limit.Per.MONTH else used.exclude(subject_key="")
    return LimitLine(
        limit_id=row.id,
        per_words=Limit.Per(row.per).label,
        most_minor=row.most_minor,
        used_minor=used.aggregate(most=Max("used_minor"))["most"] or 0,
        from_on=row.from_on,
        until_on=row.until_on,
    )
