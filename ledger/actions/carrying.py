"""Carries what is not ready at a month's end into the next month, by name (D5).

PostingRefused
└── CarryRefused
    ├── NothingToCarry    the row is settled already
    └── MonthNotOver      the month is not over, or closed already
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from uuid import UUID, uuid5

from django.db import transaction

from ledger import posting
from ledger.models import Carried
from ledger.posting import KeyUsedBefore, PostingRefused
from ledger.queries.month_end import undecided
from ledger.queries.periods import closed_through


class CarryRefused(PostingRefused):
    """Nothing was carried."""


class NothingToCarry(CarryRefused):
    def __init__(self) -> None:
        super().__init__("There is nothing here to carry: it is decided or carried already. Nothing was changed.")


class MonthNotOver(CarryRefused):
    def __init__(self, through_on: date) -> None:
        super().__init__(
            f"{through_on:%B} {through_on.day} is not over, or closed already. Nothing was carried. "
            "What is open is carried after the month's last day and before the month is closed."
        )


@transaction.atomic
def carry_care(
    *, key: UUID, through_on: date, by: int, today: date, at: datetime, subject_key: str = "", why: str = ""
) -> tuple[Carried, ...]:
    """Carry one animal's unpaid care into the next month, or, without a key, that of every animal still open.

    :raises NothingToCarry: when nothing of it is open.
    :raises MonthNotOver: when the month is not over, or closed.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    _lock(through_on, today)
    rows = [row for row in undecided(through_on=through_on) if subject_key in ("", row.animal.subject_key)]
    if known := _known(key, through_on):
        return _same(known, through_on=through_on, why=why)
    if not rows:
        raise NothingToCarry
    made = [
        Carried(
            key=uuid5(key, row.animal.subject_key),
            what=Carried.What.CARE,
            subject_key=row.animal.subject_key,
            through_on=through_on,
            amount_minor=row.animal.amount_minor,
            on=today,
            by=by,
            at=at,
            why=why.strip(),
        )
        for row in rows
    ]
    return tuple(Carried.objects.bulk_create(made))


@transaction.atomic
def carry(
    *, key: UUID, what: str, amount_minor: int, through_on: date, by: int, today: date, at: datetime, why: str = ""
) -> Carried:
    """Say that somebody has looked at one of the month's other open things, and carry it.

    :raises MonthNotOver: when the month is not over, or closed.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    _lock(through_on, today)
    if known := Carried.objects.filter(key=key).first():
        return _same((known,), through_on=through_on, why=why)[0]
    return Carried.objects.create(
        key=key, what=what, through_on=through_on, amount_minor=amount_minor, on=today, by=by, at=at, why=why.strip()
    )


def _lock(through_on: date, today: date) -> None:
    posting.lock()
    if through_on >= today or through_on <= (closed_through() or date.min):
        raise MonthNotOver(through_on)


def _known(key: UUID, through_on: date) -> tuple[Carried, ...]:
    """What the same form carried before."""
    carried = Carried.objects.filter(through_on=through_on, what=Carried.What.CARE)
    subjects = carried.values_list("subject_key", flat=True)
    return tuple(Carried.objects.filter(key__in=[uuid5(key, subject) for subject in subjects]))


def _same(known: Iterable[Carried], *, through_on: date, why: str) -> tuple[Carried, ...]:
    rows = tuple(known)
    if any((row.through_on, row.why) != (through_on, why.strip()) for row in rows):
        raise KeyUsedBefore
    return rows
