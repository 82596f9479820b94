"""Records what a fund held when these books began."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.income import checked_fund
from ledger.models import Entry, Gift, accounts
from ledger.posting import Draft, Leg


@transaction.atomic
def balance(
    *,
    key: UUID,
    fund_id: int,
    amount_minor: int,
    on: date,
    by: int,
    today: date,
    at: datetime,
    donor_id: int | None = None,
    received_on: date | None = None,
    words: str = "",
) -> Entry:
    """Record an opening balance as money that waits; with its donor and date received where they are known.

    :raises IncomeRefused: when amount, date or fund cannot be.
    """
    received = received_on or on
    sent = {
        "fund": fund_id,
        "opening": amount_minor,
        "on": on,
        "donor": donor_id,
        "received_on": received_on,
        "words": words,
    }
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    fund = checked_fund(fund_id=fund_id, amount_minor=amount_minor, on=on, today=today, what="opening balance")
    gift = None
    if donor_id is not None:
        gift = Gift(donor_id=donor_id, way=Gift.Way.OPENING, received_on=received, amount_minor=amount_minor)
    leg = Leg(debit=accounts.BANK, credit=accounts.OPENING, fund_id=fund.id, amount_minor=amount_minor)
    draft = Draft(
        key=key,
        kind=Entry.Kind.OPENING,
        on=on,
        sent=sent,
        legs=(leg,),
        gift=gift,
        received_on=min(received, on),
        note=words,
    )
    return posting.post(draft, by=by, at=at)
