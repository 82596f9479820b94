"""Records what a giving site paid out to the bank.

IncomeRefused
├── PayoutTooLarge   more than the site holds for a fund
└── PayoutDiffers    a whole payout that is not what the sites hold together
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.db.models import Q, Sum

from config import home
from config.templating import minor_text
from ledger import posting
from ledger.actions.income import IncomeRefused, check_amount, check_date
from ledger.models import Entry, Posting, accounts
from ledger.posting import Draft, Leg


class PayoutDiffers(IncomeRefused):
    field = "amount_minor"

    def __init__(self, held_minor: int, amount_minor: int) -> None:
        digits = home.digits()
        super().__init__(
            f"The giving sites hold {minor_text(held_minor, digits)} together, and this says "
            f"{minor_text(amount_minor, digits)}. Nothing was recorded. Record the missing gifts first, or choose "
            "the one fund that was paid out."
        )


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
        held = held_at_site(fund_id)
        if held >= 0 or not amount_minor:
            check_amount(amount_minor, "payout")
        if not min(held, 0) <= amount_minor <= max(held, 0):
            raise PayoutTooLarge
    legs = tuple(_leg(fund_id, amount_minor) for fund_id, amount_minor in amounts.items())
    draft = Draft(key=key, kind=Entry.Kind.PAYOUT, on=on, sent=sent, legs=legs, note=words)
    return posting.post(draft, by=by, at=at)


@transaction.atomic
def pay_out_all(
    *, key: UUID, amount_minor: int, on: date, by: int, today: date, at: datetime, words: str = ""
) -> Entry:
    """Record one payout of all that the giving sites hold, fund by fund; it must be what the statement says.

    :raises PayoutDiffers: when the sites hold more or less.
    :raises IncomeRefused: when an amount or the date cannot be.
    """
    posting.lock()
    known = Entry.objects.filter(key=key).first()
    amounts = _paid(known) if known else held()
    if known and sum(amounts.values()) != amount_minor:
        raise posting.KeyUsedBefore
    check_amount(amount_minor, "payout")
    if sum(amounts.values()) != amount_minor:
        raise PayoutDiffers(sum(amounts.values()), amount_minor)
    return pay_out(key=key, amounts=amounts, on=on, by=by, today=today, at=at, words=words)


def _paid(entry: Entry) -> dict[int, int]:
    legs = entry.postings.order_by("leg").values_list("fund", "debit", "amount_minor")
    return {fund_id: minor if debit == accounts.BANK else -minor for fund_id, debit, minor in legs}


def _leg(fund_id: int, amount_minor: int) -> Leg:
    """General money that paid the fees of other funds' gifts gets so much less."""
    into, out_of = accounts.BANK, accounts.CLEARING
    if amount_minor < 0:
        into, out_of = out_of, into
    return Leg(debit=into, credit=out_of, fund_id=fund_id, amount_minor=abs(amount_minor))


def held() -> dict[int, int]:
    """Return what giving sites hold, in minor units by fund id; less than nothing where fees are owed to others."""
    sums: dict[int, int] = {}
    at_site = Posting.objects.filter(Q(debit=accounts.CLEARING) | Q(credit=accounts.CLEARING))
    for fund_id, debit, minor in at_site.values_list("fund", "debit").annotate(Sum("amount_minor")).order_by("fund"):
        sums[fund_id] = sums.get(fund_id, 0) + (minor if debit == accounts.CLEARING else -minor)
    return {fund_id: minor for fund_id, minor in sums.items() if minor}


def held_at_site(fund_id: int) -> int:
    """Return what giving sites hold for a fund, in minor units."""
    moved = Posting.objects.filter(fund_id=fund_id).aggregate(
        come=Sum("amount_minor", filter=Q(debit=accounts.CLEARING)),
        gone=Sum("amount_minor", filter=Q(credit=accounts.CLEARING)),
    )
    return (moved["come"] or 0) - (moved["gone"] or 0)
