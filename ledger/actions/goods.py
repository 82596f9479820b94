"""Records goods that somebody gave, with quantity and fair value, apart from money (E7), and goods that are lost."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.actions.income import AmountImpossible, IncomeRefused, check_amount, check_date
from ledger.models import Entry, Fund, Gift, accounts
from ledger.posting import Draft, Leg


class GoodsNameless(IncomeRefused):
    field = "words"

    def __init__(self) -> None:
        super().__init__("Describe the goods: what, and in which unit they are counted. Nothing was recorded.")


@transaction.atomic
def receive(
    *,
    key: UUID,
    donor_id: int | None,
    words: str,
    quantity: Decimal,
    unit: str,
    fair_value_minor: int,
    received_on: date,
    by: int,
    today: date,
    at: datetime,
) -> Gift:
    """Record donated goods at fair value in the goods fund.

    :raises IncomeRefused: when description, quantity, value or date cannot be.
    """
    sent = {
        "donor": donor_id,
        "words": words,
        "quantity": int(quantity * 1000),
        "unit": unit,
        "value": fair_value_minor,
        "received_on": received_on,
    }
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key].gift
    check_amount(fair_value_minor, "fair value")
    check_date(received_on, today)
    if quantity <= 0 or quantity * 1000 % 1:
        raise AmountImpossible("quantity")
    if not words.strip() or not unit.strip():
        raise GoodsNameless
    gift = Gift(
        donor_id=donor_id,
        way=Gift.Way.GOODS,
        received_on=received_on,
        amount_minor=fair_value_minor,
        quantity_thousandths=int(quantity * 1000),
        unit=unit,
    )
    leg = Leg(
        debit=accounts.GOODS_ON_HAND,
        credit=accounts.DONATED_GOODS,
        fund_id=Fund.objects.get(kind=Fund.Kind.GOODS).id,
        amount_minor=fair_value_minor,
    )
    posting.post(
        Draft(key=key, kind=Entry.Kind.GOODS, on=received_on, sent=sent, legs=(leg,), gift=gift, line=words),
        by=by,
        at=at,
    )
    return gift


@transaction.atomic
def write_off(*, key: UUID, amount_minor: int, words: str, on: date, by: int, today: date, at: datetime) -> Entry:
    """Take donated goods out of the books that are broken, expired or lost: management bears them, and no animal.

    :raises IncomeRefused: when amount or date cannot be.
    """
    sent = {"goods_lost": amount_minor, "on": on, "words": words}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    check_amount(amount_minor, "value of what is lost")
    check_date(on, today)
    leg = Leg(
        debit=accounts.MANAGEMENT,
        credit=accounts.GOODS_ON_HAND,
        fund_id=Fund.objects.get(kind=Fund.Kind.GOODS).id,
        amount_minor=amount_minor,
        may_go_short=True,
    )
    return posting.post(
        Draft(key=key, kind=Entry.Kind.SPENDING, on=on, sent=sent, legs=(leg,), note=words), by=by, at=at
    )
