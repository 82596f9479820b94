"""Sets a limit for a fund or an agreement, and the ceiling of general money for a path (D2, D3, F1).

PostingRefused
└── LimitRefused
    ├── LimitImpossible      below zero, or ending before it begins
    ├── LimitStandsAlready   one limit of a kind at a time
    └── CeilingLifted        nothing to lift
"""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.formulas.slips import MOST_MINOR
from ledger.models import Ceiling, Limit, LimitUse
from ledger.posting import PostingRefused


class LimitRefused(PostingRefused):
    """No limit was changed."""

    field = "most_minor"


class LimitImpossible(LimitRefused):
    def __init__(self) -> None:
        super().__init__("A limit is zero or more, and ends after it begins. Nothing was changed. Look at both.")


class LimitStandsAlready(LimitRefused):
    field = "per"

    def __init__(self) -> None:
        super().__init__(
            "There is a limit of this kind in these days already. Nothing was changed. "
            "End it first, then set the new one from the day after."
        )


class CeilingLifted(LimitRefused):
    def __init__(self) -> None:
        super().__init__("This path has no ceiling that stands. Nothing was changed.")


@transaction.atomic
def limit(*, key: UUID, fund_id: int, per: str, most_minor: int, from_on: date, by: int) -> Limit:
    """Set what a fund (an agreement's own fund among them) pays at most per animal, per month, or per both.

    What it has paid before counts. A limit below that stands at what is paid: nothing more is taken.

    :raises LimitRefused: when it cannot be, or another of its kind stands in these days.
    """
    posting.lock()
    if known := Limit.objects.filter(key=key).first():
        return known
    if not 0 <= most_minor <= MOST_MINOR or per not in Limit.Per.values:
        raise LimitImpossible
    same = Limit.objects.filter(fund_id=fund_id, per=per)
    if same.filter(until_on=None).exists() or same.filter(until_on__gte=from_on).exists():
        raise LimitStandsAlready
    LimitUse.objects.filter(fund_id=fund_id).delete()
    return Limit.objects.create(key=key, fund_id=fund_id, per=per, most_minor=most_minor, from_on=from_on, made_by=by)


@transaction.atomic
def end(*, limit_id: int, until_on: date) -> Limit:
    """Let a limit end after a day of care.

    :raises LimitImpossible: when that is before it began.
    """
    posting.lock()
    found = Limit.objects.get(id=limit_id)
    if until_on < found.from_on:
        raise LimitImpossible
    found.until_on = until_on
    found.save(update_fields=["until_on"])
    return found


@transaction.atomic
def set_ceiling(*, plan_key: str, subject_key: str, most_minor: int, on: date, by: int) -> Ceiling:
    """Freeze what general money pays at most for a path: what the single procedure would have cost (D3).

    It is set once, at the path's first decision; a second call changes nothing.

    :raises LimitImpossible: when it is below zero.
    """
    posting.lock()
    if known := Ceiling.objects.filter(plan_key=plan_key).first():
        return known
    if not 0 <= most_minor <= MOST_MINOR:
        raise LimitImpossible
    return Ceiling.objects.create(
        plan_key=plan_key, subject_key=subject_key, most_minor=most_minor, set_on=on, set_by=by
    )


@transaction.atomic
def lift_ceiling(*, plan_key: str, on: date, by: int, why: str) -> Ceiling:
    """Let general money pay beyond what the single procedure would have cost, by name and with a reason (D3).

    :raises CeilingLifted: when there is none that stands.
    """
    posting.lock()
    found = Ceiling.objects.filter(plan_key=plan_key, lifted_on=None).first()
    if found is None:
        raise CeilingLifted
    found.lifted_on, found.lifted_by, found.lifted_why = on, by, why
    found.save(update_fields=["lifted_on", "lifted_by", "lifted_why"])
    return found
