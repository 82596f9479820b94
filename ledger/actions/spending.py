"""Spending that is no animal's: management and fundraising, out of unrestricted money alone.

PostingRefused
└── SpendingRefused
    ├── GivenForCare     restricted money pays for what its givers named
    ├── SpendingUnnamed  it says what it was for
    └── SpendingUnclear  neither management nor fundraising
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.income import checked_fund
from ledger.models import Entry, Fund, accounts
from ledger.posting import Draft, Leg, PostingRefused

KINDS = (accounts.MANAGEMENT, accounts.FUNDRAISING)


class SpendingRefused(PostingRefused):
    """Nothing was spent; the books were left as they were."""


class GivenForCare(SpendingRefused):
    field = "fund_id"

    def __init__(self, fund: Fund) -> None:
        given = f" for {fund.given_for}" if fund.given_for else ""
        super().__init__(
            f"{fund.name} was given{given}, and nothing else is paid from it. Nothing was recorded. "
            "Choose money without a restriction."
        )


class SpendingUnnamed(SpendingRefused):
    field = "words"

    def __init__(self) -> None:
        super().__init__("Write what it was spent on, and who was paid. Nothing was recorded.")


class SpendingUnclear(SpendingRefused):
    field = "kind"

    def __init__(self) -> None:
        super().__init__("Say whether it was management or fundraising; care is charged on the animal's page.")


@transaction.atomic
def spend(
    *,
    key: UUID,
    kind: str,
    fund_id: int,
    amount_minor: int,
    words: str,
    on: date,
    by: int,
    today: date,
    at: datetime,
) -> Entry:
    """Record what has been paid for management or fundraising; the fund may go short, because it has happened.

    :raises SpendingRefused: when the fund is restricted, or it does not say what for.
    :raises IncomeRefused: when amount, date or fund cannot be.
    """
    sent = {"spends": amount_minor, "kind": kind, "fund": fund_id, "on": on, "words": words.strip()}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    if kind not in KINDS:
        raise SpendingUnclear
    fund = checked_fund(fund_id=fund_id, amount_minor=amount_minor, on=on, today=today, what="spending")
    if fund.is_restricted:
        raise GivenForCare(fund)
    if not words.strip():
        raise SpendingUnnamed
    leg = Leg(debit=kind, credit=accounts.BANK, fund_id=fund.id, amount_minor=amount_minor, may_go_short=True)
    draft = Draft(key=key, kind=Entry.Kind.SPENDING, on=on, sent=sent, legs=(leg,), note=words.strip())
    return posting.post(draft, by=by, at=at)
