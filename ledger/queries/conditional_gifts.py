"""Conditional gifts: which are open, which were met, which went back (E6)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import F

from ledger.models import Advance, Gift, Posting
from ledger.queries import one_donor


@dataclass(frozen=True, kw_only=True)
class ConditionalGift:
    """One conditional gift. `outcome` is open, met or sent back."""

    advance_id: int
    entry_number: int
    donor_name: str
    fund_id: int
    fund_name: str
    received_on: date
    until_on: date | None
    condition: str
    amount_minor: int
    outcome: str
    settled_on: date | None
    gift_id: int | None

    @property
    def is_open(self) -> bool:
        return self.outcome == "open"


@dataclass(frozen=True, kw_only=True)
class ConditionalGifts:
    open: tuple[ConditionalGift, ...]
    settled: tuple[ConditionalGift, ...]

    @property
    def owed_minor(self) -> int:
        return sum(gift.amount_minor for gift in self.open)


def conditional_gifts() -> ConditionalGifts:
    rows = _rows()
    return ConditionalGifts(
        open=tuple(row for row in rows if row.is_open), settled=tuple(row for row in reversed(rows) if not row.is_open)
    )


def conditional_gift(*, advance_id: int) -> ConditionalGift | None:
    return next(iter(_rows(id=advance_id)), None)


def of_donors(*, ids: Iterable[int]) -> tuple[ConditionalGift, ...]:
    return tuple(_rows(donor__in=list(ids)))


def _rows(**scope) -> list[ConditionalGift]:
    found = (
        Advance.objects.filter(**scope)
        .select_related("fund")
        .annotate(words=F("entry__words__line"), donor_name=one_donor.told())
    )
    advances = list(found.order_by("received_on", "id"))
    met = {
        gift.advance_id: gift
        for gift in Gift.objects.filter(advance__in=advances, entry__reversed_by=None).select_related("entry")
    }
    back = dict(
        Posting.objects.filter(back_of__entry__in=[advance.entry_id for advance in advances]).values_list(
            "back_of__entry", "on"
        )
    )
    return [_row(advance, met.get(advance.id), back.get(advance.entry_id)) for advance in advances]


def _row(advance: Advance, gift: Gift | None, back_on: date | None) -> ConditionalGift:
    return ConditionalGift(
        advance_id=advance.id,
        entry_number=advance.entry_id,
        donor_name=advance.donor_name or "Somebody unknown",
        fund_id=advance.fund_id,
        fund_name=advance.fund.name,
        received_on=advance.received_on,
        until_on=advance.until_on,
        condition=advance.words or "",
        amount_minor=advance.amount_minor,
        outcome="met" if gift else "sent back" if back_on else "open",
        settled_on=gift.entry.on if gift else back_on,
        gift_id=gift.id if gift else None,
    )
