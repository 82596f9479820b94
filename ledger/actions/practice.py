"""Pays the practice what the funds owe it, all or up to an amount, the oldest first (A2).

PostingRefused
└── PaymentRefused
    ├── NothingDue    the funds owe the practice nothing
    └── PaidTooMuch   more than they owe
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from config import home
from config.templating import minor_text
from ledger import posting
from ledger.actions.income import check_amount, check_date
from ledger.models import Entry, accounts
from ledger.posting import Draft, Leg, PostingRefused
from ledger.queries import owed


class PaymentRefused(PostingRefused):
    """Nothing was paid; the books were left as they were."""


class NothingDue(PaymentRefused):
    def __init__(self) -> None:
        super().__init__("The funds owe the practice nothing. Nothing was recorded. Sign off a day of care first.")


class PaidTooMuch(PaymentRefused):
    field = "amount_minor"

    def __init__(self, due_minor: int) -> None:
        super().__init__(
            f"The funds owe the practice {minor_text(due_minor, home.digits())}, and no more. Nothing was recorded. "
            "Write at most that."
        )


@transaction.atomic
def pay(
    *,
    key: UUID,
    on: date,
    by: int,
    today: date,
    at: datetime,
    amount_minor: int | None = None,
    words: str = "",
) -> Entry:
    """Record a payment to the practice; without an amount, of all that is due.

    What corrections gave back after it was paid is set off against the rest.

    :raises PaymentRefused: when nothing is due, or less than that.
    :raises IncomeRefused: when the amount or the date cannot be.
    """
    sent = {"pays": amount_minor, "on": on, "words": words}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    if amount_minor is not None:
        check_amount(amount_minor, "payment")
    check_date(on, today)
    standing = owed.now()
    due = {fund: -minor for (fund, code), minor in standing.items() if code == accounts.DUE_TO_PRACTICE}
    total = sum(due.values())
    if total <= 0:
        raise NothingDue
    if amount_minor is not None and amount_minor > total:
        raise PaidTooMuch(total)
    parts = due if amount_minor in (None, total) else _oldest(standing, amount_minor)
    legs = tuple(_leg(fund, minor) for fund, minor in sorted(parts.items()))
    return posting.post(Draft(key=key, kind=Entry.Kind.PAID, on=on, sent=sent, legs=legs, note=words), by=by, at=at)


def _oldest(standing: dict[tuple[int, str], int], amount_minor: int) -> dict[int, int]:
    parts: dict[int, int] = {}
    for fund_id, _, minor in owed.oldest_first(accounts.DUE_TO_PRACTICE, standing):
        part = min(minor, amount_minor)
        amount_minor -= part
        if part:
            parts[fund_id] = parts.get(fund_id, 0) + part
    return parts


def _leg(fund_id: int, amount_minor: int) -> Leg:
    paid, from_where = accounts.DUE_TO_PRACTICE, accounts.BANK
    if amount_minor < 0:
        paid, from_where = from_where, paid
    return Leg(debit=paid, credit=from_where, fund_id=fund_id, amount_minor=abs(amount_minor))
