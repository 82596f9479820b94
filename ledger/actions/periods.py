"""Closes the books through a day, and reopens what was closed last, with reason.

PostingRefused
└── PeriodRefused
    ├── PeriodNotOver      a day that is not over yet
    ├── ClosedAlready      a day that is closed already
    ├── CareUndecided      care nobody has paid, neither decided nor carried by name (D5)
    ├── NothingClosed      there is nothing to reopen
    └── ReasonMissing      a reopening says why

A closing stops for nothing that can be put right later: what is not ready is named, and carried. It stops for care
nobody has paid that nobody has looked at, because its report says of each such row who carried it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from config.days import day_year
from ledger import posting
from ledger.models import Closing, ClosingBalance, Entry
from ledger.posting import Draft, PostingRefused
from ledger.queries.month_end import undecided
from ledger.queries.periods import closed_through
from ledger.queries.sums import balances_at, last_number

MOST_NAMES = 5


class PeriodRefused(PostingRefused):
    """Nothing was closed or reopened; the books were left as they were."""


class PeriodNotOver(PeriodRefused):
    field = "through_on"

    def __init__(self, through_on: date) -> None:
        super().__init__(
            f"{day_year(through_on)} is not over. Nothing was closed. Close through a day before today; "
            "what happens today still belongs to its period."
        )


class ClosedAlready(PeriodRefused):
    field = "through_on"

    def __init__(self, closed: date) -> None:
        super().__init__(
            f"The books are closed through {day_year(closed)} already. Nothing was changed. Close through a later day."
        )


class CareUndecided(PeriodRefused):
    def __init__(self, names: Sequence[str]) -> None:
        told = ", ".join(dict.fromkeys(names[:MOST_NAMES])) + (" and others" if len(names) > MOST_NAMES else "")
        super().__init__(
            f"Care nobody has paid is open for {told}. Nothing was closed. "
            "Find a payer for each, or carry it into the next month, by name."
        )


class NothingClosed(PeriodRefused):
    def __init__(self) -> None:
        super().__init__("No period is closed, so there is none to reopen. Nothing was changed.")


class ReasonMissing(PeriodRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__(
            "Write why the period is reopened. It stands beside the closing for good. Nothing was changed."
        )


@transaction.atomic
def close(*, key: UUID, through_on: date, by: int, today: date, at: datetime, note: str = "") -> Entry:
    """Close the books through a day: from then on nothing is dated on it or before it.

    `note` names what was not ready and is carried.

    :raises PeriodNotOver: when the day is not over.
    :raises ClosedAlready: when it is closed already.
    :raises CareUndecided: when care nobody has paid was neither decided nor carried.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    sent = {"close_through": through_on, "note": note}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    if through_on >= today:
        raise PeriodNotOver(through_on)
    closed = closed_through()
    if closed and through_on <= closed:
        raise ClosedAlready(closed)
    if rows := undecided(through_on=through_on):
        raise CareUndecided([row.animal.subject_words for row in rows])
    draft = Draft(
        key=key,
        kind=Entry.Kind.CLOSING,
        on=today,
        sent=sent,
        legs=(),
        closing=Closing(through_on=through_on),
        balances=_standing(through_on),
        note=note,
    )
    return posting.post(draft, by=by, at=at)


@transaction.atomic
def reopen(*, key: UUID, why: str, by: int, today: date, at: datetime) -> Entry:
    """Reopen what was closed last; what was closed before it stays closed.

    :raises NothingClosed: when no closing stands.
    :raises ReasonMissing: when nobody says why.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    sent = {"reopen": why}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key]
    if not why.strip():
        raise ReasonMissing
    last = Closing.objects.filter(reopens=None, reopened_by=None).order_by("-entry").first()
    if last is None:
        raise NothingClosed
    before = Closing.objects.filter(entry__lt=last.entry_id).order_by("-entry").first()
    draft = Draft(
        key=key,
        kind=Entry.Kind.REOPENING,
        on=today,
        sent=sent,
        legs=(),
        closing=Closing(through_on=before.through_on if before else None, reopens=last),
        note=why.strip(),
    )
    return posting.post(draft, by=by, at=at)


def _standing(through_on: date) -> tuple[ClosingBalance, ...]:
    """What each account of each fund holds at the end of the period: the next reports begin here."""
    standing = balances_at(on=through_on, as_of=last_number())
    return tuple(
        ClosingBalance(fund_id=fund_id, account_id=account, balance_minor=minor)
        for (fund_id, account), minor in sorted(standing.items())
    )
