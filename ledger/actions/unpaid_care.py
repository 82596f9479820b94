"""Care nobody has paid is taken over: by a fund, by the partner's agreement, or given by the clinic (D5).

PostingRefused
└── TakeOverRefused
    ├── NothingUnpaid       there is nothing of this animal to take over
    ├── FundCannotTake      the fund is no payer of care, or closed
    ├── FundTooSmall        the fund has less than what it would take
    └── NoAgreement         the partner has no agreement through which it could be billed
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Sum

from ledger import posting
from ledger.actions.charges import care_legs
from ledger.actions.income import TAKES_MONEY
from ledger.formulas.allocation import NOBODY
from ledger.models import Charge, Entry, Fund, Share, Words, traits
from ledger.posting import Draft, Part, PostingRefused
from ledger.queries.balances import with_balance

TAKEN = 0


class TakeOverRefused(PostingRefused):
    """Nobody took anything over; the books were left as they were."""


class NothingUnpaid(TakeOverRefused):
    def __init__(self) -> None:
        super().__init__("All care of this animal has its payer. There is nothing to take over.")


class FundCannotTake(TakeOverRefused):
    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name} cannot pay for this care: it is closed, or was given for something else. "
            "Nothing was posted. Choose another fund."
        )


class FundTooSmall(TakeOverRefused):
    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name} has less than what it would take over. Nothing was posted. "
            "Choose another fund, or say up to which amount."
        )


class NoAgreement(TakeOverRefused):
    def __init__(self) -> None:
        super().__init__("This partner has no agreement to be billed by. Nothing was posted. Make one first.")


@dataclass(frozen=True, kw_only=True)
class TakenOver:
    entry_numbers: tuple[int, ...]
    amount_minor: int


@transaction.atomic
def take_over(
    *,
    key: UUID,
    subject_key: str,
    payer: str,
    by: int,
    today: date,
    at: datetime,
    why: str,
    fund_id: int | None = None,
    most_minor: int | None = None,
) -> TakenOver:
    """Take an animal's unpaid care over, the oldest day first, dated today with the day of care kept.

    `payer` is "fund" (with `fund_id`), "agreement" (the partner is billed) or "given" (the clinic asks nobody).
    With `most_minor` at most so much is taken.

    :raises TakeOverRefused: when there is nothing to take or the payer cannot take it.
    """
    posting.lock()
    sent = {"take_over": subject_key, "payer": payer, "fund": fund_id, "most": most_minor, "why": why}
    charges = list(
        Charge.objects.filter(subject_key=subject_key, reverses=None, shares__payer=Share.Payer.NOBODY)
        .distinct()
        .order_by("care_on", "id")
    )
    keys = {charge.id: uuid5(key, str(charge.id)) for charge in charges}
    if known := posting.already_posted(dict.fromkeys(keys.values(), sent)):
        return _taken(known.values())
    owed = _owed(charges, most_minor)
    if not owed:
        raise NothingUnpaid
    total = sum(amount for _, amount in owed)
    words = Words.objects.in_bulk([charge.entry_id for charge, _ in owed])
    drafts = [
        _draft(
            charge,
            amount,
            key=keys[charge.id],
            sent=sent,
            payer=payer,
            fund_id=_fund(payer, fund_id, charge, total),
            today=today,
            words=words.get(charge.entry_id) or Words(),
            why=why,
        )
        for charge, amount in owed
    ]
    return _taken(posting.post_all(drafts, by=by, at=at))


def _owed(charges: list[Charge], most_minor: int | None) -> list[tuple[Charge, int]]:
    unpaid = dict(
        Share.objects.filter(charge__in=charges, payer=Share.Payer.NOBODY, charge__reversed_by=None)
        .values_list("charge")
        .annotate(total=Sum("amount_minor"))
    )
    left, owed = most_minor, []
    for charge in charges:
        amount = unpaid.get(charge.id, 0)
        if left is not None:
            amount = min(amount, left)
            left -= amount
        if amount > 0:
            owed.append((charge, amount))
    return owed


def _fund(payer: str, fund_id: int | None, charge: Charge, total_minor: int) -> int:
    if payer == Share.Payer.GIVEN:
        return Fund.objects.get(kind=Fund.Kind.GIVEN).id
    if payer == Share.Payer.AGREEMENT:
        fund = Fund.objects.filter(kind=Fund.Kind.AGREEMENT, party_key=charge.party_key).first()
        if fund is None or not charge.party_key:
            raise NoAgreement
        return fund.id
    fund = with_balance(Fund.objects.all()).get(id=fund_id)
    if fund.kind not in TAKES_MONEY or fund.closed_on or not _fits(fund, charge):
        raise FundCannotTake(fund.name)
    if fund.balance_minor < total_minor:
        raise FundTooSmall(fund.name)
    return fund.id


def _fits(fund: Fund, charge: Charge) -> bool:
    """Money that its givers restricted pays for what they named and for nothing else (D4)."""
    named = {
        Fund.Kind.ANIMAL: fund.subject_key == charge.subject_key,
        Fund.Kind.PARTNER: fund.party_key == charge.party_key,
    }
    purpose = traits.unpack(fund.traits) <= traits.unpack(charge.traits)
    return not fund.is_restricted or named.get(fund.kind, purpose)


def _draft(
    charge: Charge,
    amount_minor: int,
    *,
    key: UUID,
    sent: object,
    payer: str,
    fund_id: int,
    today: date,
    words: Words,
    why: str,
) -> Draft:
    legs = care_legs(
        kind=charge.kind_id, payer=payer, fund_id=fund_id, amount_minor=amount_minor, owed_to=charge.owed_to
    )
    left = Part(payer="nobody", rank=NOBODY, reason="taken_over", amount_minor=-amount_minor)
    taken = Part(
        payer=payer, rank=TAKEN, reason="taken_over", amount_minor=amount_minor, fund_id=fund_id, leg=len(legs)
    )
    return Draft(
        key=key,
        kind=Entry.Kind.TAKE_OVER,
        on=today,
        sent=sent,
        legs=tuple(legs),
        parts=(left, taken),
        of_charge=charge,
        subject=words.subject,
        line=words.line,
        note=why,
    )


def _taken(entries: Iterable[Entry]) -> TakenOver:
    numbers = tuple(sorted(entry.id for entry in entries))
    total = Share.objects.filter(entry__in=numbers, amount_minor__gt=0).aggregate(total=Sum("amount_minor"))["total"]
    return TakenOver(entry_numbers=numbers, amount_minor=total or 0)
