"""Records a gift of money that somebody typed: whole or split over funds, with its giving site's fee (E2, E6).

IncomeRefused
├── FeeImpossible      a fee below zero, above the gift, or without a giving site
├── WayUnknown         neither bank nor giving site
├── PartsDiffer        its parts do not sum to the gift
├── AnonymousNamed     an anonymous gift with a donor
└── OriginalUnclear    a foreign amount without its currency, or a currency that is not in use
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from uuid import UUID, uuid5

from django.db import transaction

from ledger import posting
from ledger.actions import funds
from ledger.actions.income import IncomeRefused, check_amount, check_date, checked_fund
from ledger.formulas.money import MINOR_UNITS
from ledger.formulas.splitting import largest_remainder
from ledger.models import Entry, Fund, Gift, accounts
from ledger.posting import Draft, Leg
from ledger.queries.funds import general_fund
from ledger.queries.holder import holder
from ledger.queries.policies import policy


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


class PartsDiffer(IncomeRefused):
    field = "amount_minor"

    def __init__(self) -> None:
        super().__init__(
            "The parts for each fund do not sum to the gift. Nothing was recorded. Write each part, and their sum here."
        )


class AnonymousNamed(IncomeRefused):
    field = "donor_id"

    def __init__(self) -> None:
        super().__init__(
            "An anonymous gift has no donor in these books, ever. Nothing was recorded. Leave the donor out."
        )


class OriginalUnclear(IncomeRefused):
    field = "original_currency"

    def __init__(self) -> None:
        super().__init__(
            "Write the foreign amount with the three letters of its currency, such as EUR, other than the house's own. "
            "Nothing was recorded. The amount of the gift is what the bank settled."
        )


@transaction.atomic
def receive(
    *,
    key: UUID,
    donor_id: int | None,
    amount_minor: int,
    received_on: date,
    by: int,
    today: date,
    at: datetime,
    fee_minor: int = 0,
    way: str = "bank",
    words: str = "",
    fund_id: int | None = None,
    parts: Mapping[int, int] | None = None,
    clause_unseen: bool = False,
    anonymous: bool = False,
    original_minor: int | None = None,
    original_currency: str = "",
) -> Gift:
    """Record one gift of money to one fund, or split over `parts` (minor units by fund id).

    The gift pays its giving site's fee itself, or general money does where the house promises so (E2).
    `clause_unseen` says that its giver never saw what happens to what a restricted fund does not need (E4).

    :raises IncomeRefused: when amount, fee, date, way or fund cannot be.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    shares = {fund_id: amount_minor} if parts is None else dict(parts)
    gift = Gift(
        donor_id=donor_id,
        way=way,
        received_on=received_on,
        amount_minor=amount_minor,
        fee_minor=fee_minor,
        clause_unseen=clause_unseen or None,
        is_anonymous=anonymous or None,
        original_minor=original_minor,
        original_currency=original_currency or None,
    )
    sent = _sent(gift, fund_id if parts is None else {str(fund): minor for fund, minor in parts.items()}, words)
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key].gift
    _check(gift, shares, today)
    gift.fee_from_general = bool(fee_minor) and policy(code="fees_from_general", on=received_on) is True or None
    entry = Draft(
        key=key,
        kind=Entry.Kind.GIFT,
        on=received_on,
        sent=sent,
        legs=_legs(gift, shares),
        gift=gift,
        received_on=received_on,
        note=words,
    )
    posting.post(entry, by=by, at=at)
    return gift


def _sent(gift: Gift, fund: object, words: str) -> dict[str, object]:
    more = {
        "clause_unseen": gift.clause_unseen,
        "anonymous": gift.is_anonymous,
        "original": gift.original_minor,
        "currency": gift.original_currency,
    }
    return {
        "donor": gift.donor_id,
        "fund": fund,
        "amount": gift.amount_minor,
        "received_on": gift.received_on,
        "fee": gift.fee_minor,
        "way": gift.way,
        "words": words,
        **{name: value for name, value in more.items() if value is not None},
    }


def _check(gift: Gift, shares: Mapping[int, int], today: date) -> None:
    if gift.way not in (Gift.Way.BANK, Gift.Way.GIVING_SITE):
        raise WayUnknown
    check_amount(gift.amount_minor, "gift")
    check_date(gift.received_on, today)
    taking = [
        checked_fund(fund_id=fund, amount_minor=minor, on=gift.received_on, today=today, what="gift")
        for fund, minor in shares.items()
    ]
    if sum(shares.values()) != gift.amount_minor:
        raise PartsDiffer
    if not 0 <= gift.fee_minor <= gift.amount_minor or (gift.fee_minor and gift.way != Gift.Way.GIVING_SITE):
        raise FeeImpossible
    if gift.is_anonymous and gift.donor_id is not None:
        raise AnonymousNamed
    _check_original(gift)
    if not any(fund.is_restricted for fund in taking):
        gift.clause_unseen = None


@transaction.atomic
def receive_apart(*, key: UUID, apart_name: str, received_on: date, by: int, **gift) -> Gift:
    """Record a large gift in a fund of its own, a reserve that is opened for it (E5).

    :raises FundRefused: when the fund's name is taken or missing.
    :raises IncomeRefused: when the gift cannot be.
    """
    own = funds.open(
        key=uuid5(key, "own fund"),
        kind=Fund.Kind.RESERVE,
        name=apart_name,
        is_restricted=False,
        on=received_on,
        by=by,
    )
    return receive(key=key, fund_id=own.id, received_on=received_on, by=by, **gift)


def _check_original(gift: Gift) -> None:
    home = holder()
    minor, currency = gift.original_minor, gift.original_currency
    if minor is None and currency is None:
        return
    if not minor or minor < 0 or currency not in MINOR_UNITS or (home and currency == home.currency):
        raise OriginalUnclear


def _legs(gift: Gift, shares: Mapping[int, int]) -> tuple[Leg, ...]:
    into = accounts.CLEARING if gift.way == Gift.Way.GIVING_SITE else accounts.BANK
    given = [Leg(debit=into, credit=accounts.GIFTS, fund_id=fund, amount_minor=minor) for fund, minor in shares.items()]
    if gift.fee_from_general:
        general = general_fund()
        fee = Leg(debit=accounts.FEES, credit=into, fund_id=general.id, amount_minor=gift.fee_minor, may_go_short=True)
        return (*given, fee)
    fees = zip(shares, largest_remainder(gift.fee_minor, list(shares.values())), strict=True)
    return (
        *given,
        *(
            Leg(debit=accounts.FEES, credit=into, fund_id=fund, amount_minor=minor, is_own=True)
            for fund, minor in fees
            if minor
        ),
    )
