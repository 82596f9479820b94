"""A partner's own money: its payments, its deposit, and a debt that is given up by name (F3).

PostingRefused
└── PartnerMoneyRefused
    ├── PartnerUnknown   the books have no agreement with this partner
    ├── NothingOwed      the partner owes nothing
    ├── OwesLess         more than the partner owes
    ├── DepositSmaller   more than the partner's deposit
    └── ReasonMissing    a debt is given up by name, with the reason
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from config import home
from config.templating import minor_text
from ledger import posting
from ledger.actions.income import check_amount, check_date
from ledger.models import Entry, Fund, accounts
from ledger.posting import Draft, Leg, PostingRefused
from ledger.queries import owed
from ledger.queries.funds import general_fund


class PartnerMoneyRefused(PostingRefused):
    """Nothing was recorded; the books were left as they were."""


class PartnerUnknown(PartnerMoneyRefused):
    def __init__(self) -> None:
        super().__init__(
            "The books have no agreement with this partner, so it owes nothing and has no deposit. Nothing was "
            "recorded. Make an agreement first, or record a gift to its fund."
        )


class NothingOwed(PartnerMoneyRefused):
    def __init__(self) -> None:
        super().__init__("This partner owes nothing. Nothing was recorded. Record what it paid as a deposit.")


class OwesLess(PartnerMoneyRefused):
    field = "amount_minor"

    def __init__(self, due_minor: int) -> None:
        super().__init__(
            f"This partner owes {minor_text(due_minor, home.digits())}, and no more. Nothing was recorded. "
            "Write at most that."
        )


class DepositSmaller(PartnerMoneyRefused):
    field = "amount_minor"

    def __init__(self, deposit_minor: int) -> None:
        super().__init__(
            f"This partner's deposit is {minor_text(deposit_minor, home.digits())}. Nothing was recorded. "
            "Write at most that."
        )


class ReasonMissing(PartnerMoneyRefused):
    field = "words"

    def __init__(self) -> None:
        super().__init__("A debt is given up by name: write why. Nothing was recorded.")


@transaction.atomic
def pay(
    *, key: UUID, party_key: str, amount_minor: int, on: date, by: int, today: date, at: datetime, words: str = ""
) -> Entry:
    """Record a partner's payment: it settles the oldest month first, and what is over becomes its deposit.

    :raises PartnerMoneyRefused: when the books know no agreement with it.
    :raises IncomeRefused: when the amount or the date cannot be.
    """
    kind = Entry.Kind.PARTNER_PAID
    return _record(kind, "pays", _paid, key, party_key, amount_minor, on, words, by=by, today=today, at=at)


@transaction.atomic
def deposit(
    *, key: UUID, party_key: str, amount_minor: int, on: date, by: int, today: date, at: datetime, words: str = ""
) -> Entry:
    """Record money that a partner leaves with the holder: its own, owed back, whatever it owes itself.

    :raises PartnerMoneyRefused: when the books know no agreement with it.
    :raises IncomeRefused: when the amount or the date cannot be.
    """
    kind = Entry.Kind.DEPOSIT
    return _record(kind, "deposits", _deposited, key, party_key, amount_minor, on, words, by=by, today=today, at=at)


@transaction.atomic
def use_deposit(
    *, key: UUID, party_key: str, amount_minor: int, on: date, by: int, today: date, at: datetime, words: str = ""
) -> Entry:
    """Settle what a partner owes, the oldest month first, from its deposit.

    :raises PartnerMoneyRefused: when it owes less or its deposit is smaller.
    :raises IncomeRefused: when the amount or the date cannot be.
    """
    kind = Entry.Kind.DEPOSIT
    return _record(kind, "uses", _used, key, party_key, amount_minor, on, words, by=by, today=today, at=at)


@transaction.atomic
def return_deposit(
    *, key: UUID, party_key: str, amount_minor: int, on: date, by: int, today: date, at: datetime, words: str = ""
) -> Entry:
    """Give a partner's deposit, or a part of it, back: it is its own money.

    :raises PartnerMoneyRefused: when its deposit is smaller.
    :raises IncomeRefused: when the amount or the date cannot be.
    """
    kind = Entry.Kind.DEPOSIT
    return _record(kind, "gives back", _returned, key, party_key, amount_minor, on, words, by=by, today=today, at=at)


@transaction.atomic
def give_up(
    *, key: UUID, party_key: str, amount_minor: int, on: date, by: int, today: date, at: datetime, words: str
) -> Entry:
    """Give up what a partner owes, by name and with the reason; general money bears it, and may go short.

    :raises PartnerMoneyRefused: when it owes less, or there is no reason.
    :raises IncomeRefused: when the amount or the date cannot be.
    """
    kind = Entry.Kind.DEBT
    return _record(kind, "gives up", _given_up, key, party_key, amount_minor, on, words, by=by, today=today, at=at)


def _record(kind, verb, legs, key, party_key, amount_minor, on, words, *, by, today, at) -> Entry:
    sent = {verb: amount_minor, "party": party_key, "on": on, "words": words.strip()}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    check_amount(amount_minor, "amount")
    check_date(on, today)
    fund = Fund.objects.filter(kind=Fund.Kind.AGREEMENT, party_key=party_key).first()
    if fund is None:
        raise PartnerUnknown
    if kind == Entry.Kind.DEBT and not words.strip():
        raise ReasonMissing
    standing = owed.now((accounts.DUE_FROM_PARTNERS, accounts.PARTNER_DEPOSITS))
    due = standing.get((fund.id, accounts.DUE_FROM_PARTNERS), 0)
    held = -standing.get((fund.id, accounts.PARTNER_DEPOSITS), 0)
    draft = Draft(
        key=key,
        kind=kind,
        on=on,
        sent=sent,
        legs=tuple(legs(fund.id, amount_minor, due, held)),
        note=words.strip(),
    )
    return posting.post(draft, by=by, at=at)


def _paid(fund_id: int, amount_minor: int, due: int, held: int) -> list[Leg]:
    settled = min(amount_minor, max(due, 0))
    parts = ((accounts.DUE_FROM_PARTNERS, settled), (accounts.PARTNER_DEPOSITS, amount_minor - settled))
    return [_leg(accounts.BANK, account, fund_id, minor) for account, minor in parts if minor]


def _deposited(fund_id: int, amount_minor: int, due: int, held: int) -> list[Leg]:
    return [_leg(accounts.BANK, accounts.PARTNER_DEPOSITS, fund_id, amount_minor)]


def _used(fund_id: int, amount_minor: int, due: int, held: int) -> list[Leg]:
    _check_due(amount_minor, due)
    if amount_minor > held:
        raise DepositSmaller(held)
    return [_leg(accounts.PARTNER_DEPOSITS, accounts.DUE_FROM_PARTNERS, fund_id, amount_minor)]


def _returned(fund_id: int, amount_minor: int, due: int, held: int) -> list[Leg]:
    if amount_minor > held:
        raise DepositSmaller(held)
    return [_leg(accounts.PARTNER_DEPOSITS, accounts.BANK, fund_id, amount_minor)]


def _given_up(fund_id: int, amount_minor: int, due: int, held: int) -> list[Leg]:
    """Two postings: the agreement's fund stays at zero, and general money bears the loss."""
    _check_due(amount_minor, due)
    general = general_fund()
    lost = Leg(
        debit=accounts.DEBTS_GIVEN_UP,
        credit=accounts.BANK,
        fund_id=general.id,
        amount_minor=amount_minor,
        may_go_short=True,
    )
    return [_leg(accounts.BANK, accounts.DUE_FROM_PARTNERS, fund_id, amount_minor), lost]


def _check_due(amount_minor: int, due: int) -> None:
    if due <= 0:
        raise NothingOwed
    if amount_minor > due:
        raise OwesLess(due)


def _leg(debit: str, credit: str, fund_id: int, amount_minor: int) -> Leg:
    return Leg(debit=debit, credit=credit, fund_id=fund_id, amount_minor=amount_minor)
