"""Gifts from before these books began: they count for receipts and a donor's yearly sums, and move no account.

Each is an entry without a posting, so that it is numbered, chained and taken back as every other. What of one went
back by then is a return of the same kind.

IncomeRefused
└── NotBefore   it came when the books had begun
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.income import IncomeRefused, check_amount
from ledger.actions.returns import checked_amount
from ledger.models import Entry, Gift, GiftReturn
from ledger.posting import Draft
from ledger.queries.funds import general_fund


class NotBefore(IncomeRefused):
    field = "received_on"

    def __init__(self, begun_on: date) -> None:
        super().__init__(
            f"These books began on {begun_on}, and this gift came then or later. Nothing was recorded. "
            "Record it as a gift, into its fund."
        )


@dataclass(frozen=True, kw_only=True)
class PastGift:
    key: UUID
    donor_id: int | None
    amount_minor: int
    received_on: date
    words: str = ""
    recurring: bool = False


@transaction.atomic
def receive_all(gifts: Sequence[PastGift], *, by: int, today: date, at: datetime) -> None:
    """Record gifts from before the books began; one that is recorded already adds nothing.

    :raises NotBefore: when one came later.
    :raises AmountImpossible: when one has no amount.
    :raises KeyUsedBefore: when a key came before with other content.
    """
    if not gifts:
        return
    sent = {one.key: _sent(one) for one in gifts}
    posting.lock()
    known, begun_on = posting.already_posted(sent), general_fund().opened_on
    drafts = [_draft(one, sent[one.key], begun_on, today) for one in gifts if one.key not in known]
    posting.post_all(drafts, by=by, at=at, known=known)


def _sent(one: PastGift) -> dict[str, object]:
    return {
        "past": one.donor_id,
        "amount": one.amount_minor,
        "received_on": one.received_on,
        "words": one.words,
        "recurring": one.recurring,
    }


def _draft(one: PastGift, sent: object, begun_on: date, today: date) -> Draft:
    check_amount(one.amount_minor, "gift")
    if one.received_on >= begun_on:
        raise NotBefore(begun_on)
    gift = Gift(
        donor_id=one.donor_id,
        way=Gift.Way.PAST,
        received_on=one.received_on,
        amount_minor=one.amount_minor,
        is_recurring=one.recurring or None,
    )
    return Draft(key=one.key, kind=Entry.Kind.PAST, on=today, sent=sent, legs=(), gift=gift, note=one.words)


@transaction.atomic
def give_back(
    *, key: UUID, gift_id: int, how: str, amount_minor: int, why: str, by: int, today: date, at: datetime
) -> GiftReturn:
    """Record that a gift from before, or a part of it, had gone back before the books began.

    :raises ReturnRefused: when there is not so much of the gift left.
    """
    sent = {"past return": gift_id, "amount": amount_minor, "how": how, "why": why}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key].gift_return
    gift = Gift.objects.select_related("entry").get(id=gift_id, way=Gift.Way.PAST)
    row = GiftReturn(gift=gift, how=how, amount_minor=checked_amount(gift, amount_minor, how))
    draft = Draft(key=key, kind=Entry.Kind.RETURN, on=today, sent=sent, legs=(), gift_return=row, note=why)
    posting.post(draft, by=by, at=at)
    return row
