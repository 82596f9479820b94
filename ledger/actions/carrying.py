"""Carries what is not ready at a month's end into the next month, by name (D5, H3).

PostingRefused
└── CarryRefused
    ├── NothingToCarry    nothing was chosen, or it is settled already
    └── MonthNotOver      the month is not over, or closed already
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction

from ledger import posting
from ledger.models import Carried
from ledger.posting import KeyUsedBefore, PostingRefused
from ledger.queries.month_end import OpenItems, open_items
from ledger.queries.periods import closed_through


class CarryRefused(PostingRefused):
    """Nothing was carried."""


class NothingToCarry(CarryRefused):
    field = "things"

    def __init__(self) -> None:
        super().__init__(
            "There is nothing to carry: nothing was chosen, or somebody has settled it meanwhile. Nothing was changed. "
            "Read the list again."
        )


class MonthNotOver(CarryRefused):
    def __init__(self, through_on: date) -> None:
        super().__init__(
            f"{through_on:%B} {through_on.day} is not over, or closed already. Nothing was carried. "
            "What is open is carried after the month's last day and before the month is closed."
        )


@dataclass(frozen=True, kw_only=True)
class Open:
    """What stands to be carried: its amount and, where more of it may come, how many and the latest of them."""

    amount_minor: int = 0
    count: int | None = None
    latest_id: int | None = None


@transaction.atomic
def carry(
    *, key: UUID, things: Iterable[str], through_on: date, by: int, today: date, at: datetime, why: str = ""
) -> tuple[Carried, ...]:
    """Carry each of `things`, all or none: "care" with the animal's key behind it, or another word of Carried.What.

    :raises NothingToCarry: when nothing was chosen, or one of them is not open.
    :raises MonthNotOver: when the month is not over, or closed.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    posting.lock()
    chosen = {thing: uuid5(key, thing) for thing in things}
    known = tuple(Carried.objects.filter(key__in=chosen.values()))
    if known:
        if len(known) < len(chosen) or {(row.through_on, row.why) for row in known} != {(through_on, why.strip())}:
            raise KeyUsedBefore
        return known
    if through_on >= today or through_on <= (closed_through() or date.min):
        raise MonthNotOver(through_on)
    standing = _standing(through_on)
    if not chosen or not chosen.keys() <= standing.keys():
        raise NothingToCarry
    rows = [
        Carried(
            key=own,
            what=thing.partition(" ")[0],
            subject_key=thing.partition(" ")[2],
            through_on=through_on,
            **asdict(standing[thing]),
            on=today,
            by=by,
            at=at,
            why=why.strip(),
        )
        for thing, own in chosen.items()
    ]
    return tuple(Carried.objects.bulk_create(rows))


def _standing(through_on: date) -> dict[str, Open]:
    """What could be carried, as it is now. Bills stand in the clinic's own list, without an amount here."""
    closed = closed_through()
    found = open_items(from_on=closed + timedelta(days=1) if closed else date.min, through_on=through_on)
    care = {
        f"{Carried.What.CARE} {row.animal.subject_key}": Open(amount_minor=row.animal.amount_minor)
        for row in found.undecided
    }
    return {
        **care,
        Carried.What.SITES: Open(amount_minor=found.at_sites_minor),
        Carried.What.RETURNED: Open(),
        Carried.What.RECEIPTS: Open(amount_minor=found.receipts.amount_minor),
        Carried.What.GOODS: Open(amount_minor=found.goods_minor),
        Carried.What.BILLS: Open(),
        **_that_may_grow(found),
    }


def _that_may_grow(found: OpenItems) -> dict[str, Open]:
    bank = Open(amount_minor=found.bank_left_minor, count=len(found.bank_left), latest_id=found.bank_latest)
    waiting = Open(count=found.waiting, latest_id=found.waiting_latest)
    return {
        **({Carried.What.BANK: bank} if found.bank_left or found.bank_is_short else {}),
        **({Carried.What.WAITING: waiting} if found.waiting else {}),
    }
