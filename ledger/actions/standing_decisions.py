"""A decision that stands for an animal's unpaid care: the clinic gives it, or the partner is asked (D5).

PostingRefused
└── DecisionRefused
    ├── DecisionUnclear   who takes it, why, or until when is missing
    └── NothingToEnd      it ended before
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.models import StandingDecision
from ledger.posting import PostingRefused


class DecisionRefused(PostingRefused):
    """Nothing was decided."""


class DecisionUnclear(DecisionRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__(
            "Say who takes what nobody pays, why, and an end on or after the first day. Nothing was decided."
        )


class NothingToEnd(DecisionRefused):
    def __init__(self) -> None:
        super().__init__("This decision has ended already. Nothing was changed.")


@transaction.atomic
def decide(
    *,
    key: UUID,
    subject_key: str,
    take: str,
    from_on: date,
    by: int,
    at: datetime,
    why: str,
    until_on: date | None = None,
    most_minor: int | None = None,
) -> StandingDecision:
    """From a day of care on, let the clinic give what nobody pays ("given"), or ask the partner ("agreement").

    :raises DecisionUnclear: when it says too little, or ends before it begins.
    """
    posting.lock()
    if known := StandingDecision.objects.filter(key=key).first():
        return known
    ends_early = until_on is not None and until_on < from_on
    nothing = most_minor is not None and most_minor <= 0
    if take not in StandingDecision.Take.values or not why.strip() or ends_early or nothing:
        raise DecisionUnclear
    return StandingDecision.objects.create(
        key=key,
        subject_key=subject_key,
        take=take,
        most_minor=most_minor,
        from_on=from_on,
        until_on=until_on,
        made_by=by,
        made_at=at,
        why=why,
    )


@transaction.atomic
def end(*, decision_id: int, until_on: date) -> StandingDecision:
    """Let a standing decision end after a day of care (at the earliest its first day).

    :raises NothingToEnd: when it has ended.
    """
    posting.lock()
    found = StandingDecision.objects.get(id=decision_id)
    if found.until_on is not None and found.until_on <= until_on:
        raise NothingToEnd
    found.until_on = max(until_on, found.from_on)
    found.save(update_fields=["until_on"])
    return found
