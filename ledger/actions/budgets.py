"""Plans a fund's money: budget lines, a use-by date, and the day a report is due (E6).

BudgetRefused
├── AmountMissing    a line of nothing
├── CareMissing      a line that says for which care it counts nothing
├── DaysTurned       a line that ends before it begins
└── FundKeepsNoPlan  an agreement, what the clinic gives, or goods
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.db import transaction

from config.refusal import Refusal
from ledger import posting
from ledger.actions.funds import OPENABLE
from ledger.models import BudgetLine, Fund, traits


class BudgetRefused(Refusal):
    """Nothing was planned; nothing was changed."""


class AmountMissing(BudgetRefused):
    field = "amount_minor"

    def __init__(self) -> None:
        super().__init__("A budget line has an amount above zero. Nothing was changed.")


class CareMissing(BudgetRefused):
    field = "care"

    def __init__(self) -> None:
        super().__init__("Choose at least one kind of care that counts under this line. Nothing was changed.")


class DaysTurned(BudgetRefused):
    field = "until_on"

    def __init__(self) -> None:
        super().__init__("The line ends before it begins. Nothing was changed. Correct one of the two dates.")


class FundKeepsNoPlan(BudgetRefused):
    def __init__(self, name: str) -> None:
        super().__init__(f"{name} holds no money of its own, so there is nothing to plan. Nothing was changed.")


@transaction.atomic
def add(
    *,
    key: UUID,
    fund_id: int,
    words: str,
    matches: Iterable[str],
    amount_minor: int,
    from_on: date,
    until_on: date,
    on: date,
    by: int,
) -> BudgetLine:
    """Add a line to a fund's budget; the same key adds it once.

    :raises BudgetRefused: when amount, care, dates or fund cannot be.
    """
    posting.lock()
    if known := BudgetLine.objects.filter(key=key).first():
        return known
    _checked(fund_id)
    packed = traits.pack(matches)
    if amount_minor <= 0:
        raise AmountMissing
    if not packed:
        raise CareMissing
    if until_on < from_on:
        raise DaysTurned
    return BudgetLine.objects.create(
        key=key,
        fund_id=fund_id,
        words=words.strip(),
        matches=packed,
        amount_minor=amount_minor,
        from_on=from_on,
        until_on=until_on,
        made_on=on,
        made_by=by,
    )


@transaction.atomic
def end(*, line_id: int, fund_id: int, on: date) -> None:
    """Take a line out of a fund's budget; what was spent stays spent."""
    posting.lock()
    BudgetLine.objects.filter(id=line_id, fund=fund_id, ended_on=None).update(ended_on=on)


@transaction.atomic
def set_dates(*, fund_id: int, use_by: date | None, report_on: date | None) -> Fund:
    """Set by which day a fund's money is to be used, and on which a report is due.

    :raises FundKeepsNoPlan: when the fund holds no money of its own.
    """
    posting.lock()
    fund = _checked(fund_id)
    fund.use_by, fund.report_on = use_by, report_on
    fund.save(update_fields=["use_by", "report_on"])
    return fund


def _checked(fund_id: int) -> Fund:
    fund = Fund.objects.get(id=fund_id)
    if fund.kind not in OPENABLE:
        raise FundKeepsNoPlan(fund.name)
    return fund
