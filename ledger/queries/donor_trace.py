"""What one donor's gifts paid for: the trace of the books and nothing else (I1).

waiting before + given = paid for care + fees + left again + waiting after
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Prefetch, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from ledger.models import Charge, Gift, Inflow, Use
from ledger.models.accounts import FEES, TRANSFERS
from ledger.queries import one_donor

MOVED = Q(posting__debit=TRANSFERS) | Q(posting__credit=TRANSFERS)  # to another fund: neither given nor gone


@dataclass(frozen=True, kw_only=True)
class GiftLine:
    gift_id: int
    entry_number: int
    received_on: date
    way: str
    amount_minor: int
    fee_minor: int
    fund_names: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class PaidLine:
    """What the gifts paid of one line of care; less than nothing where a correction gave money back."""

    charge_id: int
    entry_number: int
    subject_key: str
    subject_words: str
    party_key: str
    plan_key: str
    care_on: date
    words: str
    kind: str
    traits: frozenset[str]
    quantity: Decimal
    unit: str
    asked_minor: int
    given_minor: int  # what the clinic gave on this line beside what it asked
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class WaitingLine:
    fund_id: int
    fund_name: str
    given_for: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class FundPaid:
    """What a fund's gifts paid for care."""

    fund_id: int
    fund_name: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class GoodsLine:
    gift_id: int
    received_on: date
    words: str
    quantity: Decimal
    unit: str
    fair_value_minor: int


@dataclass(frozen=True, kw_only=True)
class DonorTrace:
    donor_id: int
    from_on: date
    to_on: date
    gifts: tuple[GiftLine, ...]
    goods: tuple[GoodsLine, ...]
    paid: tuple[PaidLine, ...]
    paid_by_fund: tuple[FundPaid, ...]
    waiting: tuple[WaitingLine, ...]
    waiting_before_minor: int
    given_minor: int
    paid_minor: int
    fees_minor: int
    left_again_minor: int
    waiting_minor: int

    @property
    def adds_up(self) -> bool:
        gone = self.paid_minor + self.fees_minor + self.left_again_minor
        return self.waiting_before_minor + self.given_minor == gone + self.waiting_minor


def donor_trace(*, donor_id: int, from_on: date, to_on: date) -> DonorTrace:
    """Return a donor's gifts of these days, what was paid from all of theirs in these days, and what waits.

    What was left when the books began was given before: it waits into the days in which it was recorded.

    A use counts by the book date of its entry. Goods stand apart from money.
    """
    ids = one_donor.whole(donor_id=donor_id)
    money = Q(gift__donor__in=ids) & ~Q(gift__way=Gift.Way.GOODS)
    inflows = Inflow.objects.filter(money)
    uses = Use.objects.filter(inflow__in=inflows)
    gifts = tuple(_gifts(ids, from_on, to_on))
    now = uses.filter(entry__on__gte=from_on, entry__on__lte=to_on)
    paid = _paid(now)
    other = now.filter(posting__charge=None).exclude(MOVED)
    fees = _minor(other.filter(Q(posting__debit=FEES) | Q(posting__credit=FEES)))
    before = _minor(inflows.filter(entry__on__lt=from_on)) - _minor(uses.filter(entry__on__lt=from_on))
    waiting = _waiting(inflows.filter(entry__on__lte=to_on), uses.filter(entry__on__lte=to_on))
    came = inflows.filter(entry__on__gte=from_on, entry__on__lte=to_on).exclude(MOVED)
    began = _minor(came.filter(gift__way=Gift.Way.OPENING))
    gone_again = sum(line.returned_minor for line in _given(ids, from_on, to_on))
    return DonorTrace(
        donor_id=donor_id,
        from_on=from_on,
        to_on=to_on,
        gifts=gifts,
        goods=tuple(_goods(ids, from_on, to_on)),
        paid=paid,
        paid_by_fund=_by_fund(now),
        waiting=waiting,
        waiting_before_minor=before + began,
        given_minor=_minor(came) - began - gone_again,
        paid_minor=sum(line.amount_minor for line in paid),
        fees_minor=fees,
        left_again_minor=_minor(other) - fees - gone_again,
        waiting_minor=sum(line.amount_minor for line in waiting),
    )


def paid_by_gift(*, gift_id: int) -> tuple[PaidLine, ...]:
    """Return what one gift paid for, line by line."""
    return _paid(Use.objects.filter(inflow__gift=gift_id))


def _by_fund(uses: QuerySet[Use]) -> tuple[FundPaid, ...]:
    rows = uses.filter(posting__charge__isnull=False).values_list("inflow__fund", "inflow__fund__name")
    return tuple(
        FundPaid(fund_id=fund_id, fund_name=name, amount_minor=minor)
        for fund_id, name, minor in rows.annotate(total=Sum("amount_minor")).order_by("inflow__fund")
        if minor
    )


def _minor(rows: QuerySet) -> int:
    return rows.aggregate(total=Sum("amount_minor"))["total"] or 0


def _paid(uses: QuerySet[Use]) -> tuple[PaidLine, ...]:
    """Sum up the uses by line of care; a correction counts on the line that it corrects."""
    totals: dict[int, int] = defaultdict(int)
    rows = uses.filter(posting__charge__isnull=False).values_list(
        "posting__charge", "posting__charge__reverses", "amount_minor"
    )
    for charge_id, reverses_id, minor in rows:
        totals[reverses_id or charge_id] += minor
    return paid_lines(totals=totals)


def paid_lines(*, totals: Mapping[int, int]) -> tuple[PaidLine, ...]:
    """Return the lines of care of some charges, each with what of it was paid; one of which nothing is paid is none."""
    kept = {charge_id: minor for charge_id, minor in totals.items() if minor}
    charges = []
    ids = list(kept)
    for start in range(0, len(ids), 500):
        charges += Charge.objects.filter(id__in=ids[start : start + 500]).select_related("entry__words")
    charges.sort(key=lambda charge: (charge.care_on, charge.id))
    return tuple(_paid_line(charge, kept[charge.id]) for charge in charges)


def _paid_line(charge: Charge, amount_minor: int) -> PaidLine:
    words = getattr(charge.entry, "words", None)
    return PaidLine(
        charge_id=charge.id,
        entry_number=charge.entry_id,
        subject_key=charge.subject_key,
        subject_words=words.subject if words else "",
        party_key=charge.party_key,
        plan_key=charge.plan_key,
        care_on=charge.care_on,
        words=words.line if words else "",
        kind=charge.kind_id,
        traits=frozenset(charge.traits.split()),
        quantity=Decimal(charge.quantity_thousandths) / 1000,
        unit=charge.unit,
        asked_minor=charge.asked_minor,
        given_minor=charge.usual_minor - charge.asked_minor - charge.goods_minor,
        amount_minor=amount_minor,
    )


def _given(ids: tuple[int, ...], from_on: date, to_on: date) -> QuerySet[Gift]:
    """The donor's gifts of money of these days, each with what of it went back in the same days."""
    gifts = Gift.objects.filter(donor__in=ids, entry__on__gte=from_on, entry__on__lte=to_on)
    back = Sum("returns__amount_minor", filter=Q(returns__entry__on__gte=from_on, returns__entry__on__lte=to_on))
    return gifts.exclude(way__in=(Gift.Way.GOODS, Gift.Way.PAST)).annotate(returned_minor=Coalesce(back, 0))


def _gifts(ids: tuple[int, ...], from_on: date, to_on: date):
    """A gift that went back whole in the days in which it came is no gift on a paper (E3)."""
    gifts = _given(ids, from_on, to_on).exclude(returned_minor=F("amount_minor"))
    for gift in gifts.order_by("received_on", "id").prefetch_related(
        Prefetch("inflows", Inflow.objects.order_by("id").select_related("fund"))
    ):
        yield GiftLine(
            gift_id=gift.id,
            entry_number=gift.entry_id,
            received_on=gift.received_on,
            way=gift.way,
            amount_minor=gift.amount_minor - gift.returned_minor,
            fee_minor=gift.fee_minor,
            fund_names=tuple(dict.fromkeys(inflow.fund.name for inflow in gift.inflows.all())),
        )


def _goods(ids: tuple[int, ...], from_on: date, to_on: date):
    days = {"received_on__gte": from_on, "received_on__lte": to_on}
    goods = Gift.objects.filter(donor__in=ids, way=Gift.Way.GOODS, **days)
    for gift in goods.order_by("received_on", "id").values(
        "id", "received_on", "quantity_thousandths", "unit", "amount_minor", words=F("entry__words__line")
    ):
        yield GoodsLine(
            gift_id=gift["id"],
            received_on=gift["received_on"],
            words=gift["words"] or "",
            quantity=Decimal(gift["quantity_thousandths"]) / 1000,
            unit=gift["unit"],
            fair_value_minor=gift["amount_minor"],
        )


def _waiting(inflows: QuerySet[Inflow], uses: QuerySet[Use]) -> tuple[WaitingLine, ...]:
    totals: dict[tuple, int] = defaultdict(int)
    by_fund = ("fund", "fund__name", "fund__given_for")
    for *fund, minor in inflows.values_list(*by_fund).annotate(total=Sum("amount_minor")):
        totals[tuple(fund)] += minor
    for *fund, minor in uses.values_list(*(f"inflow__{name}" for name in by_fund)).annotate(total=Sum("amount_minor")):
        totals[tuple(fund)] -= minor
    return tuple(
        WaitingLine(fund_id=fund_id, fund_name=name, given_for=given_for, amount_minor=minor)
        for (fund_id, name, given_for), minor in sorted(totals.items())
        if minor
    )
