"""Moves money between funds that no giver restricted, as dated transfers (E5).

PostingRefused
└── TransferRefused
    ├── SameFund            from a fund to itself
    ├── NoFundOfMoney       an agreement, what the clinic gives, or goods
    ├── FundShut            one of the two is closed
    ├── RestrictedStays     restricted money moves under its leftover clause only (E4)
    ├── NotRestrictedSo     the house's own money never becomes restricted
    └── TransferTooLarge    the fund did not hold this much on that day and every day since
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.income import GIFTS_GO_TO, check_amount, check_date
from ledger.models import Entry, Fund, Inflow, accounts
from ledger.posting import Draft, Leg, PostingRefused
from ledger.queries.balances import with_balance
from ledger.queries.fund_line import lines_since


class TransferRefused(PostingRefused):
    """Nothing was moved; the books were left as they were."""


class SameFund(TransferRefused):
    field = "to_fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(f"Money cannot move from {name} to itself. Nothing was moved. Choose another fund.")


class NoFundOfMoney(TransferRefused):
    field = "to_fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} holds no money of its own. Nothing was moved. Choose a fund that people give to.")


class FundShut(TransferRefused):
    field = "to_fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} is closed. Nothing was moved. Choose an open fund.")


class RestrictedStays(TransferRefused):
    field = "from_fund_id"

    def __init__(self, fund: Fund) -> None:
        given = f" for {fund.given_for}" if fund.given_for else ""
        super().__init__(
            f"{fund.name} was given{given} and cannot go to another purpose. Nothing was moved. "
            "When it is not needed any more, move what is left under its clause, on the fund's own page."
        )


class NotRestrictedSo(TransferRefused):
    field = "to_fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name} is restricted by its givers, and the house's own money never becomes so. Nothing was moved. "
            "Pay the care from this fund itself."
        )


class TransferTooLarge(TransferRefused):
    field = "amount_minor"

    def __init__(self, name: str, on: date) -> None:
        super().__init__(
            f"{name} did not hold this much on {on} and every day since. Nothing was moved. "
            "Move less, or on a later day."
        )


@transaction.atomic
def transfer(
    *,
    key: UUID,
    from_fund_id: int,
    to_fund_id: int,
    amount_minor: int,
    on: date,
    by: int,
    today: date,
    at: datetime,
    words: str = "",
) -> Entry:
    """Move money from one unrestricted fund to another; each part keeps its gift and the date received.

    :raises TransferRefused: when one of the funds or the amount cannot be.
    :raises IncomeRefused: when the amount is not above zero or the date has not come.
    """
    sent = {"transfer": amount_minor, "from": from_fund_id, "to": to_fund_id, "on": on, "words": words}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    check_amount(amount_minor, "transfer")
    check_date(on, today)
    funds = with_balance(Fund.objects.all()).in_bulk([from_fund_id, to_fund_id])
    giving, taking = funds[from_fund_id], funds[to_fund_id]
    if giving.is_restricted:
        raise RestrictedStays(giving)
    check_between(giving, taking)
    if taking.is_restricted:
        raise NotRestrictedSo(taking.name)
    held = lines_since(fund_ids=[giving.id], since=on)[giving.id].lowest_since(on)
    if held < amount_minor:
        raise TransferTooLarge(giving.name, on)
    draft = Draft(
        key=key,
        kind=Entry.Kind.TRANSFER,
        on=on,
        sent=sent,
        legs=between(from_fund_id=giving.id, to_fund_id=taking.id, amount_minor=amount_minor),
        note=words,
    )
    return posting.post(draft, by=by, at=at)


def check_between(giving: Fund, taking: Fund) -> None:
    """Refuse two funds between which no money can move, whoever restricted it.

    :raises TransferRefused: when they are one, or one of them holds no money or is closed.
    """
    if giving.id == taking.id:
        raise SameFund(giving.name)
    for fund in (giving, taking):
        if fund.kind not in GIFTS_GO_TO:
            raise NoFundOfMoney(fund.name)
        if fund.closed_on:
            raise FundShut(fund.name)


def between(
    *, from_fund_id: int, to_fund_id: int, amount_minor: int, traced: tuple[tuple[Inflow, int], ...] = ()
) -> tuple[Leg, Leg]:
    """Return the two legs of a transfer; with `traced` it takes the very money that is named."""
    return (
        Leg(
            debit=accounts.TRANSFERS,
            credit=accounts.BANK,
            fund_id=from_fund_id,
            amount_minor=amount_minor,
            traced=traced,
        ),
        Leg(
            debit=accounts.BANK,
            credit=accounts.TRANSFERS,
            fund_id=to_fund_id,
            amount_minor=amount_minor,
            carries=True,
        ),
    )
