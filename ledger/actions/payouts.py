"""Records what a giving site paid out to the bank."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.db.models import Q, Sum

from ledger import posting
from ledger.actions.income import IncomeRefused, check_amount, check_date
from ledger.models import Entry, Posting, accounts
from ledger.posting import Draft, Leg


class PayoutTooLarge(IncomeRefused):
    def __init__(self) -> None:
        super().__init__(
            "The giving site would pay out more than it holds for this fund. Nothing was recorded. "
            "Record the gifts first, each with its fee."
        )


@transaction.atomic
def pay_out(
    *, key: UUID, amounts: Mapping[int, int], on: date, by: int, today: date, at: datetime, words: str = ""
) -> Entry:
    """Record one payout to the bank; `amounts` are minor units by fund id.

    :raises PayoutTooLarge: when a fund has less at the giving site.
    :raises IncomeRefused: when an amount or the date cannot be.
    """
    sent = {"payout": {str(fund): amount for fund, amount in amounts.items()}, "on": on, "words": words}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    check_date(on, today)
    for fund_id, amount_minor in amounts.items():
        check_amount(amount_minor, "payout")
        if amount_minor > held_at_site(fund_id):
            raise PayoutTooLarge
    legs = tuple(
        Leg(debit=accounts.BANK, credit=accounts.CLEARING, fund_id=fund_id, amount_minor=amount_minor)
        for fund_id, amount_minor in amounts.items()
    )
    draft = Draft(key=key, kind=Entry.Kind.PAYOUT, on=on, sent=sent, legs=legs, note=words)
    return posting.post(draft, by=by, at=at)


def held_at_site(fund_id: int) -> int:
    """Return what giving sites hold for a fund, in minor units."""
    moved = Posting.objects.filter(fund_id=fund_id).aggregate(
        come=Sum("amount_minor", filter=Q(debit=accounts.CLEARING)),
        gone=Sum("amount_minor", filter=Q(credit=accounts.CLEARING)),
    )
    return (moved["come"] or 0) - (moved["gone"] or 0)
