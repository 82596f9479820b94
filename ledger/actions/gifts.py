"""Records a gift of money that somebody typed, with its giving site's fee (E2).

IncomeRefused
├── FeeImpossible   a fee below zero, above the gift, or without a giving site
└── WayUnknown      neither bank nor giving site
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.income import IncomeRefused, checked_fund
from ledger.models import Entry, Gift, accounts
from ledger.posting import Draft, Leg


class FeeImpossible(IncomeRefused):
    field = "fee_minor"

    def __init__(self) -> None:
        super().__init__(
            "A fee belongs to a giving site and lies between zero and the gift. Nothing was recorded. "
            "Write the gift as the donor gave it, and the fee beside it."
        )


class WayUnknown(IncomeRefused):
    field = "way"

    def __init__(self) -> None:
        super().__init__("Say how the gift came: by the bank or through a giving site. Nothing was recorded.")


@transaction.atomic
def receive(
    *,
    key: UUID,
    donor_id: int | None,
    fund_id: int,
    amount_minor: int,
    received_on: date,
    by: int,
    today: date,
    at: datetime,
    fee_minor: int = 0,
    way: str = "bank",
    words: str = "",
    clause_unseen: bool = False,
) -> Gift:
    """Record one gift of money to one fund; its own fee is paid by the gift itself.

    `clause_unseen` says that its giver never saw what happens to what a restricted fund does not need (E4).

    :raises IncomeRefused: when amount, fee, date, way or fund cannot be.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    sent = {
        "donor": donor_id,
        "fund": fund_id,
        "amount": amount_minor,
        "received_on": received_on,
        "fee": fee_minor,
        "way": way,
        "words": words,
        **({"clause_unseen": True} if clause_unseen else {}),
    }
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key].gift
    if way not in (Gift.Way.BANK, Gift.Way.GIVING_SITE):
        raise WayUnknown
    fund = checked_fund(fund_id=fund_id, amount_minor=amount_minor, on=received_on, today=today, what="gift")
    if not 0 <= fee_minor <= amount_minor or (fee_minor and way != Gift.Way.GIVING_SITE):
        raise FeeImpossible
    gift = Gift(
        donor_id=donor_id,
        way=way,
        received_on=received_on,
        amount_minor=amount_minor,
        fee_minor=fee_minor,
        clause_unseen=True if clause_unseen and fund.is_restricted else None,
    )
    entry = Draft(
        key=key,
        kind=Entry.Kind.GIFT,
        on=received_on,
        sent=sent,
        legs=_legs(fund.id, way=way, amount_minor=amount_minor, fee_minor=fee_minor),
        gift=gift,
        received_on=received_on,
        note=words,
    )
    posting.post(entry, by=by, at=at)
    return gift


def _legs(fund_id: int, *, way: str, amount_minor: int, fee_minor: int) -> tuple[Leg, ...]:
    into = accounts.CLEARING if way == Gift.Way.GIVING_SITE else accounts.BANK
    given = Leg(debit=into, credit=accounts.GIFTS, fund_id=fund_id, amount_minor=amount_minor)
    if not fee_minor:
        return (given,)
    fee = Leg(debit=accounts.FEES, credit=into, fund_id=fund_id, amount_minor=fee_minor, is_own=True)
    return (given, fee)
