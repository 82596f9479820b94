"""A gift with a condition is owed back until the condition is met (E6).

The rule is that of ASU 2018-08: with a barrier and a right of return, cash received is a liability until then.

PostingRefused
└── ConditionRefused
    ├── ConditionMissing   a gift without a condition is a plain gift
    ├── EndImpossible      it ends before it was received
    ├── SettledAlready     met, or sent back
    └── SettledTooEarly    settled before it was received
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.income import check_date, checked_fund
from ledger.giving_back import leg_back
from ledger.models import Advance, Entry, Gift, Words, accounts
from ledger.posting import Draft, Leg, PostingRefused


class ConditionRefused(PostingRefused):
    """Nothing was recorded; the books were left as they were."""


class ConditionMissing(ConditionRefused):
    field = "condition"

    def __init__(self) -> None:
        super().__init__(
            "Write what must happen before this money is a gift. Nothing was recorded. "
            "Without a condition, record a plain gift."
        )


class EndImpossible(ConditionRefused):
    field = "until_on"

    def __init__(self) -> None:
        super().__init__("The condition ends on or after the day on which the money came. Nothing was recorded.")


class SettledAlready(ConditionRefused):
    def __init__(self, how: str) -> None:
        super().__init__(f"This conditional gift was {how} already. Nothing was changed. Look at its entry.")


class SettledTooEarly(ConditionRefused):
    field = "on"

    def __init__(self, received_on: date) -> None:
        super().__init__(f"The money came on {received_on}. Nothing was recorded. Choose that day or a later one.")


@transaction.atomic
def receive(
    *,
    key: UUID,
    donor_id: int | None,
    fund_id: int,
    amount_minor: int,
    condition: str,
    received_on: date,
    by: int,
    today: date,
    at: datetime,
    until_on: date | None = None,
) -> Advance:
    """Record money that came with a condition: a liability of its fund, not yet a gift.

    :raises IncomeRefused: when amount, date or fund cannot be.
    :raises ConditionRefused: when there is no condition or it ends too early.
    """
    sent = {
        "condition": condition.strip(),
        "donor": donor_id,
        "fund": fund_id,
        "amount": amount_minor,
        "received_on": received_on,
        "until": until_on,
    }
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key].advance
    fund = checked_fund(fund_id=fund_id, amount_minor=amount_minor, on=received_on, today=today, what="gift")
    if not condition.strip():
        raise ConditionMissing
    if until_on and until_on < received_on:
        raise EndImpossible
    advance = Advance(
        donor_id=donor_id, fund=fund, received_on=received_on, until_on=until_on, amount_minor=amount_minor
    )
    leg = Leg(debit=accounts.BANK, credit=accounts.REFUNDABLE_ADVANCES, fund_id=fund.id, amount_minor=amount_minor)
    draft = Draft(
        key=key,
        kind=Entry.Kind.CONDITION,
        on=received_on,
        sent=sent,
        legs=(leg,),
        advance=advance,
        line=condition.strip(),
    )
    posting.post(draft, by=by, at=at)
    return advance


@transaction.atomic
def meet(*, key: UUID, advance_id: int, on: date, why: str, by: int, today: date, at: datetime) -> Gift:
    """Record that the condition is met: from that day on it is a gift, received that day.

    :raises ConditionRefused: when it was met or sent back before, or on a day before it came.
    """
    sent = {"meets": advance_id, "on": on, "why": why}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key].gift
    advance = _open(advance_id, on, today)
    gift = Gift(
        donor_id=advance.donor_id,
        way=Gift.Way.BANK,
        received_on=on,
        amount_minor=advance.amount_minor,
        advance=advance,
    )
    leg = Leg(
        debit=accounts.REFUNDABLE_ADVANCES,
        credit=accounts.GIFTS,
        fund_id=advance.fund_id,
        amount_minor=advance.amount_minor,
    )
    draft = Draft(
        key=key,
        kind=Entry.Kind.CONDITION,
        on=on,
        sent=sent,
        legs=(leg,),
        gift=gift,
        received_on=on,
        line=_condition(advance),
        note=why,
    )
    posting.post(draft, by=by, at=at)
    return gift


@transaction.atomic
def fail(*, key: UUID, advance_id: int, on: date, why: str, by: int, today: date, at: datetime) -> Entry:
    """Record that the condition is not met and the money goes back to who gave it.

    :raises ConditionRefused: when it was met or sent back before, or on a day before it came.
    """
    sent = {"fails": advance_id, "on": on, "why": why}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    advance = _open(advance_id, on, today)
    came = advance.entry.postings.get()
    draft = Draft(
        key=key,
        kind=Entry.Kind.CONDITION,
        on=on,
        sent=sent,
        legs=(leg_back(came, advance.amount_minor),),
        line=_condition(advance),
        note=why,
    )
    return posting.post(draft, by=by, at=at)


def _open(advance_id: int, on: date, today: date) -> Advance:
    advance = Advance.objects.select_related("entry").get(id=advance_id)
    if advance.gifts.filter(entry__reversed_by=None).exists():
        raise SettledAlready("met")
    if advance.entry.postings.filter(given_back__isnull=False).exists():
        raise SettledAlready("sent back")
    check_date(on, today)
    if on < advance.received_on:
        raise SettledTooEarly(advance.received_on)
    return advance


def _condition(advance: Advance) -> str:
    words = Words.objects.filter(entry=advance.entry_id).first()
    return words.line if words else ""
