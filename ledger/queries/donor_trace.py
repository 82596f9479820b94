"""What one donor's gifts paid for: the trace of the books and nothing else (I1).

waiting before + given = paid for care + fees + left again + waiting after
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

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
    inflows = Inflow.objects.filter(gift__donor__in=ids).exclude(gift__way=Gift.Way.GOODS)
    uses = Use.objects.filter(inflow__in=inflows, entry__on__lte=to_on)
    money = _given(ids, from_on, to_on)
    came, went = tuple(_came(inflows.filter(entry__on__lte=to_on), from_on)), tuple(_went(uses, from_on))
    paid = _paid(uses.filter(entry__on__gte=from_on))
    waiting = _waiting(came, went)
    began, fees = _sum(came, "began"), _sum(went, "fees")
    gone_again = sum(gift.returned_minor for gift in money)
    return DonorTrace(
        donor_id=donor_id,
        from_on=from_on,
        to_on=to_on,
        gifts=tuple(_gifts(money)),
        goods=tuple(_goods(ids, from_on, to_on)),
        paid=paid,
        paid_by_fund=_by_fund(went),
        waiting=waiting,
        waiting_before_minor=_sum(came, "before") + began - _sum(went, "before"),
        given_minor=_sum(came, "given") - gone_again,
        paid_minor=sum(line.amount_minor for line in paid),
        fees_minor=fees,
        left_again_minor=_sum(went, "gone") - fees - gone_again,
        waiting_minor=sum(line.amount_minor for line in waiting),
    )


def paid_by_gift(*, gift_id: int) -> tuple[PaidLine, ...]:
    """Return what one gift paid for, line by line."""
    return _paid(Use.objects.filter(inflow__gift=gift_id))


def _total(which: Q) -> Sum:
    return Sum("amount_minor", filter=which, default=0)


def _came(inflows: QuerySet[Inflow], from_on: date) -> QuerySet[Inflow, dict[str, Any]]:
    """Add up by fund what came in: in all, before these days, given in them, and what was left when the books began."""
    now = Q(entry__on__gte=from_on) & ~MOVED
    began = Q(gift__way=Gift.Way.OPENING)
    return inflows.values("fund_id", name=F("fund__name"), given_for=F("fund__given_for")).annotate(
        whole=Sum("amount_minor"),
        before=_total(Q(entry__on__lt=from_on)),
        given=_total(now & ~began),
        began=_total(now & began),
    )


def _went(uses: QuerySet[Use], from_on: date) -> QuerySet[Use, dict[str, Any]]:
    """Add up by fund what went out: in all, before these days, and in them for care, for fees, and otherwise too."""
    now = Q(entry__on__gte=from_on)
    gone = now & Q(posting__charge=None) & ~MOVED
    funds = {"name": F("inflow__fund__name"), "given_for": F("inflow__fund__given_for")}
    return uses.values(fund_id=F("inflow__fund"), **funds).annotate(
        whole=Sum("amount_minor"),
        before=_total(Q(entry__on__lt=from_on)),
        paid=_total(now & Q(posting__charge__isnull=False)),
        fees=_total(gone & (Q(posting__debit=FEES) | Q(posting__credit=FEES))),
        gone=_total(gone),
    )


def _sum(rows: Iterable[dict[str, Any]], name: str) -> int:
    return sum(row[name] for row in rows)


def _by_fund(went: Iterable[dict[str, Any]]) -> tuple[FundPaid, ...]:
    return tuple(
        FundPaid(fund_id=row["fund_id"], fund_name=row["name"], amount_minor=row["paid"])
        for row in sorted(went, key=lambda row: row["fund_id"])
        if row["paid"]
    )


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


def _given(ids: tuple[int, ...], from_on: date, to_on: date) -> list[Gift]:
    """Return the donor's gifts of money of these days, each with its funds and what went back in the same days."""
    gifts = Gift.objects.filter(donor__in=ids, entry__on__gte=from_on, entry__on__lte=to_on)
    back = Sum("returns__amount_minor", filter=Q(returns__entry__on__gte=from_on, returns__entry__on__lte=to_on))
    money = gifts.exclude(way__in=(Gift.Way.GOODS, Gift.Way.PAST)).annotate(returned_minor=Coalesce(back, 0))
    funds = Prefetch("inflows", Inflow.objects.order_by("id").select_related("fund"))
    return list(money.order_by("received_on", "id").prefetch_related(funds))


def _gifts(money: Iterable[Gift]) -> Iterator[GiftLine]:
    """A gift that went back whole in the days in which it came is no gift on a paper (E3)."""
    for gift in money:
        if gift.returned_minor != gift.amount_minor:
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


def _waiting(came: Iterable[dict[str, Any]], went: Iterable[dict[str, Any]]) -> tuple[WaitingLine, ...]:
    totals: Counter[tuple[int, str, str]] = Counter()
    for rows, sign in ((came, 1), (went, -1)):
        for row in rows:
            totals[row["fund_id"], row["name"], row["given_for"]] += sign * row["whole"]
    return tuple(
        WaitingLine(fund_id=fund_id, fund_name=name, given_for=given_for, amount_minor=minor)
        for (fund_id, name, given_for), minor in sorted(totals.items())
        if minor
    )
