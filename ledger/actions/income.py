"""What every kind of income is asked before it enters the books.

PostingRefused
└── IncomeRefused
    ├── AmountImpossible   zero, negative, or beyond reason
    ├── DateAhead          a date that has not come yet
    ├── FundClosed         the fund takes no more money
    └── FundNotForGifts    an agreement, what the clinic gives, or goods
"""

from datetime import date

from ledger.formulas.slips import MOST_MINOR
from ledger.models import Fund
from ledger.posting import PostingRefused

TAKES_MONEY = (Fund.Kind.GENERAL, Fund.Kind.PARTNER, Fund.Kind.ANIMAL, Fund.Kind.PURPOSE)  # and pays for care
GIFTS_GO_TO = (*TAKES_MONEY, Fund.Kind.RESERVE)  # a reserve is never a payer (D1, E5)


class IncomeRefused(PostingRefused):
    """Money or goods that were not recorded."""


class AmountImpossible(IncomeRefused):
    field = "amount_minor"

    def __init__(self, what: str) -> None:
        super().__init__(f"The {what} must be above zero. Nothing was recorded. To give money back, reverse its entry.")


class DateAhead(IncomeRefused):
    field = "received_on"

    def __init__(self, on: date) -> None:
        super().__init__(f"{on} has not come yet. Nothing was recorded. Give the day on which it was received.")


class FundClosed(IncomeRefused):
    field = "fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} is closed. Nothing was recorded. Choose an open fund.")


class FundNotForGifts(IncomeRefused):
    field = "fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} takes no gifts of money. Nothing was recorded. Choose another fund.")


def checked_fund(*, fund_id: int, amount_minor: int, on: date, today: date, what: str) -> Fund:
    """Return the fund, if it may receive this amount on this day.

    :raises IncomeRefused: when it may not.
    """
    check_amount(amount_minor, what)
    check_date(on, today)
    fund = Fund.objects.get(id=fund_id)
    check_takes_money(fund)
    return fund


def check_takes_money(fund: Fund) -> None:
    if fund.kind not in GIFTS_GO_TO:
        raise FundNotForGifts(fund.name)
    if fund.closed_on:
        raise FundClosed(fund.name)


def check_amount(amount_minor: int, what: str) -> None:
    if not 0 < amount_minor <= MOST_MINOR:
        raise AmountImpossible(what)


def check_date(on: date, today: date) -> None:
    if on > today:
        raise DateAhead(on)
