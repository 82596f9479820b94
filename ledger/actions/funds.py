"""Opens and closes funds.

FundRefused
├── FundNameTaken       another fund has this name
├── FundPurposeMissing  its kind asks for something that is not there
├── LeftoverMissing     a restricted fund without its leftover clause (E4)
├── FundNotEmpty        a fund with money in it does not close
└── FundKept            general money, what is given and goods stay open
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.db import transaction

from config.refusal import Refusal
from ledger import posting
from ledger.models import Fund, traits
from ledger.queries.balances import with_balance

OPENABLE = (Fund.Kind.PARTNER, Fund.Kind.ANIMAL, Fund.Kind.PURPOSE, Fund.Kind.GENERAL, Fund.Kind.RESERVE)


class FundRefused(Refusal):
    """The fund was not opened, or not closed; nothing was changed."""


class FundNameTaken(FundRefused):
    field = "name"

    def __init__(self, name: str) -> None:
        super().__init__(f"There is a fund named {name} already. Give this one another name.")


class FundPurposeMissing(FundRefused):
    pass


class LeftoverMissing(FundRefused):
    field = "leftover"

    def __init__(self) -> None:
        super().__init__(
            "Write what happens to money that is not needed. It is printed wherever gifts for this fund are asked for."
        )


class FundNotEmpty(FundRefused):
    def __init__(self, name: str) -> None:
        super().__init__(f"{name} is not empty. It can close when its balance is 0.")


class FundKept(FundRefused):
    def __init__(self, name: str) -> None:
        super().__init__(f"{name} stays open as long as the books do.")


@transaction.atomic
def open(  # noqa: A001
    *,
    key: UUID,
    kind: str,
    name: str,
    is_restricted: bool,
    on: date,
    by: int,
    leftover: str = "",
    given_for: str = "",
    subject_key: str = "",
    party_key: str = "",
    purpose: Iterable[str] = (),
    use_by: date | None = None,
    leftover_to: int | None = None,
) -> Fund:
    """Open a fund; the same key gives back the fund that it opened.

    `purpose` are the traits that care must all have for a purpose fund to pay for it; `leftover_to` is the fund that
    its leftover clause names, where it names one.

    :raises FundRefused: when a name is taken or what its kind asks for is missing.
    """
    posting.lock()
    if known := Fund.objects.filter(key=key).first():
        return known
    if kind not in OPENABLE:
        raise FundPurposeMissing("Choose what the fund is for: a partner, an animal, a purpose, or general money.")
    if not name.strip():
        raise FundPurposeMissing("Give the fund a name.")
    if Fund.objects.filter(name=name.strip()).exists():
        raise FundNameTaken(name.strip())
    fund = Fund(
        key=key,
        kind=kind,
        name=name.strip(),
        is_restricted=is_restricted,
        leftover=leftover.strip(),
        leftover_to_id=leftover_to,
        given_for=given_for.strip(),
        subject_key=subject_key,
        party_key=party_key,
        traits=traits.pack(purpose),
        use_by=use_by,
        opened_on=on,
        opened_by=by,
    )
    _check(fund)
    fund.save(force_insert=True)
    return fund


def _check(fund: Fund) -> None:
    wanted = {
        Fund.Kind.ANIMAL: ("subject_key", "Choose the animal that the fund is for."),
        Fund.Kind.PARTNER: ("party_key", "Choose the partner that the fund is for."),
        Fund.Kind.PURPOSE: ("traits", "Choose at least one kind of care that the fund pays for."),
    }
    for kind, (name, sentence) in wanted.items():
        if (fund.kind == kind) != bool(getattr(fund, name)):
            raise FundPurposeMissing(sentence if fund.kind == kind else "This kind of fund names nothing of its own.")
    if fund.is_restricted and fund.kind in (Fund.Kind.GENERAL, Fund.Kind.RESERVE):
        raise FundPurposeMissing("General money and reserves are money without a restriction.")
    if fund.is_restricted and not fund.leftover:
        raise LeftoverMissing


@transaction.atomic
def close(*, fund_id: int, on: date) -> Fund:
    """Close an empty fund: it pays and receives nothing from then on.

    :raises FundNotEmpty: when it has a balance.
    :raises FundKept: when the books cannot do without it.
    """
    posting.lock()
    fund = with_balance(Fund.objects.all()).get(id=fund_id)
    if fund.closed_on:
        return fund
    if fund.balance_minor:
        raise FundNotEmpty(fund.name)
    if fund.kind not in OPENABLE or not _another_general(fund):
        raise FundKept(fund.name)
    fund.closed_on = on
    fund.save(update_fields=["closed_on"])
    return fund


def _another_general(fund: Fund) -> bool:
    others = Fund.objects.filter(kind=Fund.Kind.GENERAL, closed_on=None).exclude(id=fund.id)
    return fund.kind != Fund.Kind.GENERAL or others.exists()
