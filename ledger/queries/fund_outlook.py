"""What a fund's last 30 days say about the next: when it runs out, and when a gift made today is at work (E5)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Sum

from ledger.formulas import pace
from ledger.models import Posting
from ledger.models.accounts import KIND_OF, Kind

DAYS = 30
MOST_DAYS = 3650


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """Days of available money and of all money at the pace of the last 30; None where nothing was spent."""

    spent_minor: int
    per_day_minor: int
    available_until: date | None
    balance_until: date | None
    at_work_days: int | None


def outlook(*, fund_id: int, balance_minor: int, aside_minor: int, today: date) -> Outlook:
    """Return the outlook. A gift made today waits until all that came before it is spent."""
    spent = _spent(fund_id, today)
    available = pace.days_left(balance_minor - aside_minor, spent_minor=spent, days=DAYS)
    whole = pace.days_left(balance_minor, spent_minor=spent, days=DAYS)
    return Outlook(
        spent_minor=spent,
        per_day_minor=_rounded(spent, DAYS),
        available_until=_day(today, available),
        balance_until=_day(today, whole),
        at_work_days=whole,
    )


def _spent(fund_id: int, today: date) -> int:
    rows = (
        Posting.objects.filter(fund=fund_id, on__gt=today - timedelta(days=DAYS), on__lte=today)
        .values_list("debit", "credit")
        .annotate(total=Sum("amount_minor"))
    )
    return sum(
        minor * ((KIND_OF[debit] == Kind.EXPENSE) - (KIND_OF[credit] == Kind.EXPENSE)) for debit, credit, minor in rows
    )


def _rounded(minor: int, days: int) -> int:
    return (2 * minor + days) // (2 * days)


def _day(today: date, days: int | None) -> date | None:
    return None if days is None or days > MOST_DAYS else today + timedelta(days=days)
