"""What one donor's gifts paid for: the trace of the books and nothing else (I1).

waiting before + given = paid for care + fees + other costs + left again + waiting after
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Sum
from django.db.models.functions import Coalesce

from ledger.models import Charge, Use
from ledger.queries import one_donor
from ledger.queries.donor_money import DonorMoney, donor_money


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
    other_costs_minor: int  # of the fund: neither care nor the fee of a giving site
    left_again_minor: int
    waiting_minor: int
    gave_before_the_books: bool  # in these days, when the books had not begun

    @property
    def adds_up(self) -> bool:
        gone = self.paid_minor + self.fees_minor + self.other_costs_minor + self.left_again_minor
        return self.waiting_before_minor + self.given_minor == gone + self.waiting_minor


def donor_trace(*, donor_id: int, from_on: date, to_on: date) -> DonorTrace:
    """Return a donor's gifts of these days, what was paid from all of theirs in these days, and what waits."""
    ids = one_donor.whole(donor_id=donor_id)
    return traced(donor_money(ids=ids, from_on=from_on, to_on=to_on))


def traced(money: DonorMoney) -> DonorTrace:
    """Tell a donor's money line by line of care.

    What was left when the books began was given before: it waits into the days in which it was recorded.

    A use counts by the book date of its entry. Goods stand apart from money.
    """
    now = [came for came in money.came if came.on >= money.from_on and not came.is_moved]
    otherwise = [went for went in money.went if went.charge_id is None and not went.is_moved]
    gone_again = sum(gift.returned_minor for gift in money.given if gift.is_money)
    fees = sum(went.now_minor for went in otherwise if went.is_fee)
    left = sum(went.now_minor for went in otherwise if went.has_left)
    waited = sum(came.amount_minor for came in money.came if came.on < money.from_on)
    began = sum(came.amount_minor for came in now if came.is_from_before)
    paid, waiting = _paid(money), _waiting(money)
    return DonorTrace(
        from_on=money.from_on,
        to_on=money.to_on,
        gifts=tuple(_gifts(money)),
        goods=tuple(_goods(money)),
        paid=paid,
        paid_by_fund=_by_fund(money),
        waiting=waiting,
        waiting_before_minor=waited + began - sum(went.before_minor for went in money.went),
        given_minor=sum(came.amount_minor for came in now) - began - gone_again,
        paid_minor=sum(line.amount_minor for line in paid),
        fees_minor=fees,
        other_costs_minor=sum(went.now_minor for went in otherwise) - fees - left,
        left_again_minor=left - gone_again,
        waiting_minor=sum(line.amount_minor for line in waiting),
        gave_before_the_books=any(gift.is_past for gift in money.given),
    )


def paid_by_gift(*, gift_id: int) -> tuple[PaidLine, ...]:
    """Return what one gift paid for, line by line; a correction counts on the line that it corrects."""
    uses = Use.objects.filter(inflow__gift=gift_id, posting__charge__isnull=False)
    rows = uses.values_list(Coalesce("posting__charge__reverses", "posting__charge")).annotate(Sum("amount_minor"))
    return paid_lines(totals=dict(rows))


def _paid(money: DonorMoney) -> tuple[PaidLine, ...]:
    totals: dict[int, int] = defaultdict(int)
    for went in money.went:
        if went.charge_id is not None:
            totals[went.charge_id] += went.now_minor
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


def _by_fund(money: DonorMoney) -> tuple[FundPaid, ...]:
    totals: Counter[tuple[int, str]] = Counter()
    for went in money.went:
        if went.charge_id is not None:
            totals[went.came.fund_id, went.came.fund_name] += went.now_minor
    return tuple(
        FundPaid(fund_id=fund_id, fund_name=name, amount_minor=minor)
        for (fund_id, name), minor in sorted(totals.items())
        if minor
    )


def _gifts(money: DonorMoney) -> Iterator[GiftLine]:
    """A gift that went back whole in the days in which it came is no gift on a paper (E3)."""
    funds: dict[int, dict[str, None]] = defaultdict(dict)
    for came in money.came:
        funds[came.gift_id][came.fund_name] = None
    for gift in money.given:
        if gift.is_money and gift.returned_minor != gift.amount_minor:
            yield GiftLine(
                gift_id=gift.gift_id,
                entry_number=gift.entry_number,
                received_on=gift.received_on,
                way=gift.way,
                amount_minor=gift.amount_minor - gift.returned_minor,
                fee_minor=gift.fee_minor,
                fund_names=tuple(funds[gift.gift_id]),
            )


def _goods(money: DonorMoney) -> Iterator[GoodsLine]:
    for gift in money.given:
        if gift.is_goods:
            yield GoodsLine(
                gift_id=gift.gift_id,
                received_on=gift.received_on,
                words=gift.words,
                quantity=gift.quantity,
                unit=gift.unit,
                fair_value_minor=gift.amount_minor,
            )


def _waiting(money: DonorMoney) -> tuple[WaitingLine, ...]:
    totals: Counter[tuple[int, str, str]] = Counter()
    for came in money.came:
        totals[came.fund_id, came.fund_name, came.given_for] += came.amount_minor
    for went in money.went:
        came = went.came
        totals[came.fund_id, came.fund_name, came.given_for] -= went.before_minor + went.now_minor
    return tuple(
        WaitingLine(fund_id=fund_id, fund_name=name, given_for=given_for, amount_minor=minor)
        for (fund_id, name, given_for), minor in sorted(totals.items())
        if minor
    )
