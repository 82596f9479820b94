"""Gifts: a list in pages, and one gift with what it paid, line by line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Prefetch, Q, QuerySet, Sum

from config.templating import minor_text
from ledger.formulas import money
from ledger.formulas.money import minor_digits
from ledger.models import Gift, GiftReturn, Inflow, Use
from ledger.models.accounts import FEES, Kind
from ledger.queries import one_donor
from ledger.queries.donor_trace import PaidLine, WaitingLine, paid_by_gift
from ledger.queries.holder import holder
from ledger.queries.marks import read, write
from ledger.queries.policies import policy

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
    returned_minor: int
    fee_from_general: bool
    original_words: str  # a foreign amount as it was given
    is_recurring: bool

    @property
    def own_fee_minor(self) -> int:
        return 0 if self.fee_from_general else self.fee_minor

    @property
    def used_minor(self) -> int:
        """What of it paid for care; its fee stays with it while the rest of it does."""
        stays = self.amount_minor - self.returned_minor
        return 0 if self.is_taken_back or self.is_past else stays - min(self.own_fee_minor, stays) - self.left_minor

    @property
    def is_goods(self) -> bool:
        return self.way == Gift.Way.GOODS

    @property
    def is_past(self) -> bool:
        """From before these books began: it counts for receipts and has no money in them."""
        return self.way == Gift.Way.PAST

    @property
    def stays_minor(self) -> int:
        """What of it may still go back."""
        return 0 if self.is_taken_back else self.amount_minor - self.returned_minor


@dataclass(frozen=True, kw_only=True)
class GiftPage:
    """`older` is where the next page begins: the date and number of this page's last gift."""

    rows: tuple[GiftRow, ...]
    older: str
    is_first: bool


@dataclass(frozen=True, kw_only=True)
class ReturnLine:
    entry_number: int
    on: date
    how_words: str
    why: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class GiftStory:
    row: GiftRow
    paid: tuple[PaidLine, ...]
    waiting: tuple[WaitingLine, ...]
    returns: tuple[ReturnLine, ...]
    fee_minor: int
    other_costs_minor: int
    left_again_minor: int

    @property
    def may_be_taken_back(self) -> bool:
        return not self.paid and not self.returns and not self.row.is_taken_back

    @property
    def may_go_back(self) -> bool:
        return not (self.row.is_goods or self.row.is_past) and self.row.stays_minor > 0


def gifts(*, after: str = "", donor_id: int | None = None) -> GiftPage:
    """Return a page of gifts, the latest first; `after` is the mark that the page before gave as `older`."""
    rows = Gift.objects.all()
    if donor_id is not None:
        rows = rows.filter(donor__in=one_donor.whole(donor_id=donor_id))
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
    fees = Q(posting__debit=FEES) | Q(posting__credit=FEES)
    costs = Q(posting__debit__kind=Kind.EXPENSE) | Q(posting__credit__kind=Kind.EXPENSE)
    beside_care = Use.objects.filter(inflow__gift=found, posting__charge=None)
    return GiftStory(
        row=row,
        returns=tuple(_returns(found)),
        fee_minor=_total(beside_care.filter(fees)),
        other_costs_minor=_total(beside_care.filter(costs).exclude(fees)),
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
        left_again_minor=_total(again.exclude(costs)),
    )


def _total(uses: QuerySet[Use]) -> int:
    return uses.aggregate(total=Sum("amount_minor"))["total"] or 0


def of_donor(*, donor_id: int, from_on: date, to_on: date) -> tuple[GiftRow, ...]:
    """Return a donor's gifts of these days, in money and in goods, the first one first; none that went back whole."""
    rows = _facts(
        Gift.objects.filter(donor__in=one_donor.whole(donor_id=donor_id), received_on__range=(from_on, to_on)).exclude(
            way=Gift.Way.OPENING
        )
    )
    return tuple(row for row in map(_row, rows.order_by("received_on", "id")) if row.stays_minor)


def every_gift(*, donor_id: int) -> tuple[GiftRow, ...]:
    """Return all that a donor ever gave, the first one first: what went back and what came before these books too."""
    rows = _facts(Gift.objects.filter(donor__in=one_donor.whole(donor_id=donor_id)))
    return tuple(map(_row, rows.order_by("received_on", "id")))


def went_back(*, ids: Iterable[int]) -> frozenset[int]:
    """Return which of these gifts went back, whole or in part, or were taken back."""
    back = Gift.objects.filter(Q(returns__isnull=False) | Q(entry__reversed_by__isnull=False), id__in=list(ids))
    return frozenset(back.values_list("id", flat=True))


def owners(*, ids: Iterable[int]) -> dict[int, int]:
    """Return by gift the donor under whom it is read."""
    return dict(Gift.objects.filter(id__in=list(ids), donor__isnull=False).values_list("id", one_donor.standing()))


LINE_HEADS = ("What", "For", "Day of care", "Entry", "Amount")


def gift_lines(story: GiftStory) -> list[list[object]]:
    """Return a gift's lines for a file; their amounts sum to the gift."""
    currency = holder().currency

    def amount(minor: int) -> Decimal:
        return money.from_minor(minor, currency)

    care = [
        [
            "care",
            f"{line.subject_words}: {line.words}",
            line.care_on.isoformat(),
            line.entry_number,
            amount(line.amount_minor),
        ]
        for line in story.paid
    ]
    fee = [["giving-site fee", "", "", story.row.entry_number, amount(story.fee_minor)]] if story.fee_minor else []
    costs = [["other costs", "", "", "", amount(story.other_costs_minor)]] if story.other_costs_minor else []
    back = [["went back", line.how_words, "", line.entry_number, amount(line.amount_minor)] for line in story.returns]
    again = [["taken back", "", "", "", amount(story.left_again_minor)]] if story.left_again_minor else []
    waits = [["waiting", line.fund_name, "", "", amount(line.amount_minor)] for line in story.waiting]
    return [*care, *fee, *costs, *back, *again, *waits]


def _returns(gift: Gift):
    rows = gift.returns.order_by("entry_id").values(
        "entry", "how", "amount_minor", on=F("entry__on"), why=F("entry__words__note")
    )
    for row in rows:
        yield ReturnLine(
            entry_number=row["entry"],
            on=row["on"],
            how_words=GiftReturn.How(row["how"]).label,
            why=row["why"] or "",
            amount_minor=row["amount_minor"],
        )


def _facts(rows: QuerySet[Gift]) -> QuerySet[Gift]:
    return (
        rows.select_related("entry__reversed_by")
        .annotate(note=F("entry__words__note"), line=F("entry__words__line"))
        .annotate(one=one_donor.standing(), told=one_donor.told())
        .prefetch_related(Prefetch("inflows", Inflow.objects.order_by("id").select_related("fund")), "returns")
    )


def _row(gift: Gift) -> GiftRow:
    inflows = list(gift.inflows.all())
    return GiftRow(
        gift_id=gift.id,
        entry_number=gift.entry_id,
        donor_id=gift.one,
        donor_name=gift.told or (one_donor.UNNAMED if gift.is_anonymous else "Somebody unknown"),
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
        returned_minor=sum(row.amount_minor for row in gift.returns.all()),
        fee_from_general=bool(gift.fee_from_general),
        original_words=_original(gift),
        is_recurring=bool(gift.is_recurring),
    )


def _original(gift: Gift) -> str:
    if not gift.original_currency:
        return ""
    amount = minor_text(gift.original_minor, minor_digits(gift.original_currency))
    return f"{amount} {gift.original_currency}"


def wants_a_fund_of_its_own(*, on: date) -> int | None:
    """Return the amount above which the house offers a gift a fund of its own (E5), or None."""
    limit = policy(code="large_gift_minor", on=on)
    return limit if isinstance(limit, int) and not isinstance(limit, bool) else None
