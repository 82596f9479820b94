"""Sets fund money aside for an animal's plan, and frees it (D4). Over-committing warns and never blocks.

PostingRefused
└── CommitmentRefused
    ├── NothingToSetAside    an amount of nothing, or a fund that pays for no care
    └── FundForSomethingElse restricted money is set aside only for what its givers named
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from uuid import UUID, uuid5

from django.db import transaction

from ledger import posting
from ledger.actions.income import TAKES_MONEY
from ledger.models import Commitment, Fund
from ledger.posting import PostingRefused


class CommitmentRefused(PostingRefused):
    """Nothing was set aside."""


class NothingToSetAside(CommitmentRefused):
    field = "amount_minor"

    def __init__(self) -> None:
        super().__init__("Set aside an amount above zero, from an open fund. Nothing was changed.")


class FundForSomethingElse(CommitmentRefused):
    field = "fund_id"

    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name} was given for something else, and can set nothing aside for this animal. "
            "Nothing was changed. Choose another fund."
        )


@transaction.atomic
def commit(
    *,
    key: UUID,
    subject_key: str,
    amounts: Mapping[int, int],
    on: date,
    by: int,
    plan_key: str = "",
    party_key: str = "",
    words: str = "",
) -> tuple[Commitment, ...]:
    """Set aside `amounts` (minor units by fund id) for an animal; the same key sets aside once.

    :raises CommitmentRefused: when an amount or a fund cannot be.
    """
    posting.lock()
    keys = {fund_id: uuid5(key, str(fund_id)) for fund_id in amounts}
    if known := list(Commitment.objects.filter(key__in=keys.values())):
        return tuple(known)
    funds = Fund.objects.in_bulk(list(amounts))
    for fund_id, minor in amounts.items():
        fund = funds[fund_id]
        if minor <= 0 or fund.kind not in TAKES_MONEY or fund.closed_on:
            raise NothingToSetAside
        other = (fund.kind == Fund.Kind.ANIMAL and fund.subject_key != subject_key) or (
            fund.kind == Fund.Kind.PARTNER and fund.party_key != party_key
        )
        if fund.is_restricted and other:
            raise FundForSomethingElse(fund.name)
    return tuple(
        Commitment.objects.create(
            key=keys[fund_id],
            fund_id=fund_id,
            subject_key=subject_key,
            plan_key=plan_key,
            words=words,
            amount_minor=minor,
            left_minor=minor,
            made_on=on,
            made_by=by,
        )
        for fund_id, minor in amounts.items()
    )


@transaction.atomic
def free(*, on: date, by: int, why: str, plan_key: str = "", subject_key: str = "") -> int:
    """Free what is set aside for a plan, or for an animal; return in how many funds. What was spent stays spent."""
    posting.lock()
    rows = Commitment.objects.filter(ended_on=None)
    rows = rows.filter(plan_key=plan_key) if plan_key else rows.filter(subject_key=subject_key)
    return rows.update(ended_on=on, ended_by=by, ended_why=why)
