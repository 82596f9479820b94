"""Gifts: a list in pages, and one gift with what it paid, line by line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Q, QuerySet, Sum

from ledger.models import Gift, Use
from ledger.queries.donor_trace import PaidLine, WaitingLine, paid_by_gift
from ledger.queries.marks import read, write

PAGE = 40


@dataclass(frozen=True, kw_only=True)
class GiftRow:
    gift_id: int
    entry_number: int
    donor_id: int | None
    donor_name: str
    received_on: date
    way: str
    way_words: str
    amount_minor: int
    fee_minor: int
    fund_names: tuple[str, ...]
    left_minor: int
    words: str
    quantity: Decimal | None
    unit: str
    is_taken_back: bool

    @property
    def used_minor(self) -> int:
        return 0 if self.is_taken_back else self.amount_minor - self.fee_minor - self.left_minor


@dataclass(frozen=True, kw_only=True)
class GiftPage:
    """`older` is where the next page begins: the date and number of this page's last gift."""

    rows: tuple[GiftRow, ...]
    older: str
    is_first: bool


@dataclass(frozen=True, kw_only=True)
class GiftStory:
    row: GiftRow
    paid: tuple[PaidLine, ...]
    waiting: tuple[WaitingLine, ...]
    left_again_minor: int

    @property
    def may_be_taken_back(self) -> bool:
        return not self.paid and not self.row.is_taken_back


def gifts(*, after: str = "", donor_id: int | None = None) -> GiftPage:
    """Return a page of gifts, the latest first; `after` is the mark that the page before gave as `older`."""
    rows = Gift.objects.all()
    if donor_id is not None:
        rows = rows.filter(donor=donor_id)
    mark = read(after)
    if mark:
        received_on, number = mark
        rows = rows.filter(Q(received_on__lt=received_on) | Q(received_on=received_on, id__lt=number))
    found = list(_facts(rows.order_by("-received_on", "-id"))[: PAGE + 1])
    last = found[PAGE - 1] if len(found) > PAGE else None
    return GiftPage(
        rows=tuple(_row(gift) for gift in found[:PAGE]),
        older=write(last.received_on, last.id) if last else "",
        is_first=mark is None,
    )


def gift(*, gift_id: int) -> GiftStory | None:
    found = _facts(Gift.objects.filter(id=gift_id)).first()
    if found is None:
        return None
    row = _row(found)
    again = Use.objects.filter(
        inflow__gift=found, posting__charge=None, posting__back_of__isnull=False, amount_minor__gt=0
    )
    return GiftStory(
        row=row,
        paid=paid_by_gift(gift_id=gift_id),
        waiting=tuple(
            WaitingLine(
                fund_id=inflow.fund_id,
                fund_name=inflow.fund.name,
                given_for=inflow.fund.given_for,
                amount_minor=inflow.left_minor,
            )
            for inflow in found.inflows.all()
            if inflow.left_minor
        ),
        left_again_minor=again.aggregate(total=Sum("amount_minor"))["total"] or 0,
    )


def _facts(rows: QuerySet[Gift]) -> QuerySet[Gift]:
    return (
        rows.select_related("donor", "entry__reversed_by")
        .annotate(note=F("entry__words__note"), line=F("entry__words__line"))
        .prefetch_related("inflows__fund")
    )


def _row(gift: Gift) -> GiftRow:
    inflows = list(gift.inflows.all())
    return GiftRow(
        gift_id=gift.id,
        entry_number=gift.entry_id,
        donor_id=gift.donor_id,
        donor_name=gift.donor.name if gift.donor else "Somebody unknown",
        received_on=gift.received_on,
        way=gift.way,
        way_words=Gift.Way(gift.way).label,
        amount_minor=gift.amount_minor,
        fee_minor=gift.fee_minor,
        fund_names=tuple(dict.fromkeys(inflow.fund.name for inflow in inflows)),
        left_minor=sum(inflow.left_minor for inflow in inflows),
        words=gift.line or gift.note or "",
        quantity=Decimal(gift.quantity_thousandths) / 1000 if gift.quantity_thousandths else None,
        unit=gift.unit,
        is_taken_back=hasattr(gift.entry, "reversed_by"),
    )
