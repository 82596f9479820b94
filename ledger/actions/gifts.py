"""Records a gift of money that somebody typed: whole or split over funds, with its giving site's fee (E2, E6).

IncomeRefused
├── FeeImpossible      a fee below zero, above the gift, or without a giving site
├── WayUnknown         neither bank nor giving site
├── PartsDiffer        its parts do not sum to the gift
├── AnonymousNamed     an anonymous gift with a donor
└── OriginalUnclear    a foreign amount without its currency, or a currency that is not in use
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from uuid import UUID, uuid5

from django.db import transaction

from ledger import posting
from ledger.actions import funds
from ledger.actions.income import IncomeRefused, check_amount, check_date, check_takes_money
from ledger.formulas.money import MINOR_UNITS
from ledger.formulas.splitting import largest_remainder
from ledger.models import Entry, Fund, Gift, accounts
from ledger.posting import Draft, Leg
from ledger.queries.funds import general_fund
from ledger.queries.holder import holder
from ledger.queries.policies import policy_by_day


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


@dataclass(frozen=True, kw_only=True)
class Received:
    """One gift of money as it came, to one fund or split over `parts` (minor units by fund id).

    `clause_unseen` says that its giver never saw what happens to what a restricted fund does not need (E4).
    """

    key: UUID
    donor_id: int | None
    amount_minor: int
    received_on: date
    fee_minor: int = 0
    way: str = "bank"
    words: str = ""
    fund_id: int | None = None
    parts: Mapping[int, int] | None = None
    clause_unseen: bool = False
    anonymous: bool = False
    recurring: bool = False
    original_minor: int | None = None
    original_currency: str = ""
    booked_on: date | None = None  # where it is not the day received, whose period may be closed

    @property
    def shares(self) -> Mapping[int, int]:
        return {self.fund_id: self.amount_minor} if self.parts is None else self.parts

    def gift(self) -> Gift:
        return Gift(
            donor_id=self.donor_id,
            way=self.way,
            received_on=self.received_on,
            amount_minor=self.amount_minor,
            fee_minor=self.fee_minor,
            clause_unseen=self.clause_unseen or None,
            is_anonymous=self.anonymous or None,
            is_recurring=self.recurring or None,
            original_minor=self.original_minor,
            original_currency=self.original_currency or None,
        )

    def sent(self) -> dict[str, object]:
        more = {
            "clause_unseen": self.clause_unseen or None,
            "anonymous": self.anonymous or None,
            "recurring": self.recurring or None,
            "original": self.original_minor,
            "currency": self.original_currency or None,
        }
        return {
            "donor": self.donor_id,
            "fund": self.fund_id if self.parts is None else {str(fund): minor for fund, minor in self.parts.items()},
            "amount": self.amount_minor,
            "received_on": self.received_on,
            "fee": self.fee_minor,
            "way": self.way,
            "words": self.words,
            **{name: value for name, value in more.items() if value is not None},
        }


def receive(*, by: int, today: date, at: datetime, **received) -> Gift:
    """Record one gift of money, as `Received` tells it: `receive_all` with one.

    :raises IncomeRefused: when amount, fee, date, way or fund cannot be.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    return receive_all([Received(**received)], by=by, today=today, at=at)[0]


@transaction.atomic
def receive_all(received: Sequence[Received], *, by: int, today: date, at: datetime) -> list[Gift]:
    """Record gifts of money under one lock, or none of them; one that is in the books already adds nothing.

    A gift pays its giving site's fee itself, or general money does where the house promises so (E2).

    :raises IncomeRefused: when amount, fee, date, way or fund of one cannot be.
    :raises KeyUsedBefore: when a key came before with other content.
    """
    posting.lock()
    known = posting.already_posted({one.key: one.sent() for one in received})
    gifts = {key: entry.gift for key, entry in known.items()}
    books, drafts = _Books(), []
    for one in received:
        if one.key not in known:
            drafts.append(_draft(one, gifts.setdefault(one.key, one.gift()), books, today))
    posting.post_all(drafts, by=by, at=at, known=known)
    return [gifts[one.key] for one in received]


class _Books:
    """What each gift asks of the books, asked once for all of a batch."""

    def __init__(self) -> None:
        self.fund = cache(lambda number: Fund.objects.get(id=number))
        self.general = cache(general_fund)
        self.fees_from_general = cache(lambda: policy_by_day(code="fees_from_general"))


def _draft(one: Received, gift: Gift, books: _Books, today: date) -> Draft:
    _check(gift, one.shares, books, today)
    gift.fee_from_general = bool(one.fee_minor) and books.fees_from_general()(one.received_on) is True or None
    return Draft(
        key=one.key,
        kind=Entry.Kind.GIFT,
        on=one.booked_on or one.received_on,
        sent=one.sent(),
        legs=_legs(gift, one.shares, books),
        gift=gift,
        received_on=one.received_on,
        note=one.words,
    )


def _check(gift: Gift, shares: Mapping[int, int], books: _Books, today: date) -> None:
    if gift.way not in (Gift.Way.BANK, Gift.Way.GIVING_SITE):
        raise WayUnknown
    check_amount(gift.amount_minor, "gift")
    check_date(gift.received_on, today)
    taking = [books.fund(number) for number in shares]
    for fund, minor in zip(taking, shares.values(), strict=True):
        check_amount(minor, "gift")
        check_takes_money(fund)
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
    minor, currency = gift.original_minor, gift.original_currency
    if minor is None and currency is None:
        return
    home = holder()
    if not minor or minor < 0 or currency not in MINOR_UNITS or (home and currency == home.currency):
        raise OriginalUnclear


def _legs(gift: Gift, shares: Mapping[int, int], books: _Books) -> tuple[Leg, ...]:
    into = accounts.CLEARING if gift.way == Gift.Way.GIVING_SITE else accounts.BANK
    given = [Leg(debit=into, credit=accounts.GIFTS, fund_id=fund, amount_minor=minor) for fund, minor in shares.items()]
    if gift.fee_from_general:
        general = books.general().id
        fee = Leg(debit=accounts.FEES, credit=into, fund_id=general, amount_minor=gift.fee_minor, may_go_short=True)
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
