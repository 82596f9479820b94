"""Keeps what follows from shares beside them: limits, ceilings, commitments and standing decisions, in the same write.

Rows are counted after the shares are written, under the books' lock; the database refuses a figure beyond its
bound, and the audit counts all of them again from the shares.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import F

from ledger.models import (
    Ceiling,
    Commitment,
    CommitmentMove,
    Fund,
    Limit,
    LimitUse,
    Share,
    StandingDecision,
)
from ledger.queries.limits import Counted, counted, in_force, used_by_shares
from ledger.queries.reasons import STANDING, follows_from_the_order


def count(shares: Iterable[Share], moves: Iterable[CommitmentMove]) -> None:
    """Count shares that have just been written. Each has a `rooted` reason: its own, or that of what it gives back."""
    _commitments(moves)
    ordered, decided = [], defaultdict(int)
    for share in shares:
        if share.fund_id is None:
            continue
        if share.rooted.startswith(STANDING):
            decided[int(share.rooted.removeprefix(STANDING))] += share.amount_minor
        elif follows_from_the_order(share.rooted):
            ordered.append(share)
    for number, minor in decided.items():
        StandingDecision.objects.filter(id=number).update(used_minor=F("used_minor") + minor)
    _limits(ordered)
    _ceilings(ordered)


def _commitments(moves: Iterable[CommitmentMove]) -> None:
    gone: dict[int, int] = defaultdict(int)
    for move in moves:
        gone[move.commitment_id] += move.amount_minor
    for number, minor in gone.items():
        Commitment.objects.filter(id=number).update(left_minor=F("left_minor") - minor)


def _limits(shares: list[Share]) -> None:
    limits: dict[int, list[Limit]] = defaultdict(list)
    for row in Limit.objects.filter(fund_id__in={share.fund_id for share in shares}).order_by("id"):
        limits[row.fund_id].append(row)
    if not limits:
        return
    moved: dict[Counted, int] = defaultdict(int)
    most: dict[Counted, int] = {}
    for share in shares:
        charge = share.charge
        month = charge.care_on.replace(day=1)
        theirs = limits.get(share.fund_id, ())
        for limit in in_force(theirs, charge.care_on):
            most[counted(limit, subject_key=charge.subject_key, month=month)] = limit.most_minor
        for what in {counted(limit, subject_key=charge.subject_key, month=month) for limit in theirs}:
            moved[what] += share.amount_minor
    _keep(moved, most)


def _ceilings(shares: list[Share]) -> None:
    plans = {share.charge.plan_key for share in shares if share.charge.plan_key}
    ceilings = {row.plan_key: row for row in Ceiling.objects.filter(plan_key__in=plans)} if plans else {}
    if not ceilings:
        return
    general = set(Fund.objects.filter(kind=Fund.Kind.GENERAL).values_list("id", flat=True))
    moved: dict[Counted, int] = defaultdict(int)
    most: dict[Counted, int] = {}
    for share in shares:
        ceiling = ceilings.get(share.charge.plan_key)
        if ceiling and share.fund_id in general:
            what = Counted(fund_id=None, plan_key=ceiling.plan_key)
            moved[what] += share.amount_minor
            most[what] = ceiling.most_minor
    _keep(moved, most)


def _keep(moved: dict[Counted, int], most: dict[Counted, int]) -> None:
    there = {row.key: row for row in LimitUse.objects.filter(key__in=[what.key for what in moved])}
    for what, minor in moved.items():
        row = there.get(what.key)
        used = row.used_minor + minor if row else used_by_shares(what)
        allowed = max(most.get(what, row.most_minor if row else used), used)
        if row:
            LimitUse.objects.filter(id=row.id).update(used_minor=used, most_minor=allowed)
        else:
            LimitUse.objects.create(
                key=what.key,
                fund_id=what.fund_id,
                subject_key=what.subject_key,
                month=what.month,
                plan_key=what.plan_key,
                used_minor=used,
                most_minor=allowed,
            )
