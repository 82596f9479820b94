"""One fund: what it has, rolled forward month by month, over time, ahead, against its budget, and its journal."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from config import charts
from ledger.models import Fund
from ledger.queries.balances import with_balance
from ledger.queries.budgets import Budget, budget
from ledger.queries.fund_journal import Journal, journal
from ledger.queries.fund_outlook import Outlook, outlook
from ledger.queries.fund_picture import picture
from ledger.queries.fund_roll import RollForward, roll_forward
from ledger.queries.funds import ORDER, FundLine, fund_line
from ledger.queries.set_aside import SetAside, set_aside


@dataclass(frozen=True, kw_only=True)
class FundPage:
    fund: FundLine
    roll: RollForward
    set_aside: SetAside
    outlook: Outlook | None
    budget: Budget
    journal: Journal
    picture: charts.Chart | None

    @property
    def available_minor(self) -> int:
        return self.fund.balance_minor - self.set_aside.left_minor


def first_day(*, fund_id: int, today: date) -> date | None:
    """Return where a fund's page begins unless asked: the month before this one, or the fund's first day."""
    opened_on = Fund.objects.filter(id=fund_id).values_list("opened_on", flat=True).first()
    if opened_on is None:
        return None
    month_before = (today.replace(day=1) - timedelta(days=1)).replace(day=1)
    return max(month_before, min(opened_on, today))


def fund_page(*, fund_id: int, from_on: date, to_on: date, today: date, after: str = "") -> FundPage | None:
    """Return a fund's page; `after` is the mark that a journal page before gave as `older`."""
    found = with_balance(Fund.objects.filter(id=fund_id)).first()
    if found is None:
        return None
    fund, aside = fund_line(found), set_aside(fund_id=fund_id, from_on=from_on)
    return FundPage(
        fund=fund,
        roll=roll_forward(fund_id=fund_id, from_on=from_on, to_on=to_on),
        set_aside=aside,
        outlook=outlook(fund_id=fund_id, balance_minor=fund.balance_minor, aside_minor=aside.left_minor, today=today)
        if fund.kind in ORDER and not fund.closed_on
        else None,
        budget=budget(fund_id=fund_id),
        journal=journal(fund_id=fund_id, after=after),
        picture=picture(fund=fund, aside=aside, from_on=from_on, to_on=to_on),
    )
