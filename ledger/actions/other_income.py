"""Records income that is no gift: the bank's interest, a sale, a deposit that came back.

PostingRefused
└── OtherIncomeRefused
    ├── IncomeUnnamed     it says from what it comes
    └── GivenForOthers    a fund that its givers restricted takes what they gave, and nothing else
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.income import checked_fund
from ledger.models import Entry, accounts
from ledger.posting import Draft, Leg, PostingRefused


class OtherIncomeRefused(PostingRefused):
    """Nothing was recorded; the books were left as they were."""


class IncomeUnnamed(OtherIncomeRefused):
    field = "words"

    def __init__(self) -> None:
        super().__init__("Write from what it comes. Nothing was recorded.")


class GivenForOthers(OtherIncomeRefused):
    field = "fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} takes what its givers gave for it, and nothing else. Nothing was recorded.")


@transaction.atomic
def receive(
    *, key: UUID, fund_id: int, amount_minor: int, words: str, on: date, by: int, today: date, at: datetime
) -> Entry:
    """Record other income that came to the bank.

    :raises OtherIncomeRefused: when it does not say from what, or the fund is restricted.
    :raises IncomeRefused: when amount, date or fund cannot be.
    """
    sent = {"other income": amount_minor, "fund": fund_id, "on": on, "words": words.strip()}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    fund = checked_fund(fund_id=fund_id, amount_minor=amount_minor, on=on, today=today, what="income")
    if fund.is_restricted:
        raise GivenForOthers(fund.name)
    if not words.strip():
        raise IncomeUnnamed
    leg = Leg(debit=accounts.BANK, credit=accounts.OTHER_INCOME, fund_id=fund.id, amount_minor=amount_minor)
    draft = Draft(key=key, kind=Entry.Kind.INCOME, on=on, sent=sent, legs=(leg,), note=words.strip())
    return posting.post(draft, by=by, at=at)
