"""One donor's gifts as the books hold them: given in some days, come into funds until then, taken out of them for what.

Read once, in three questions; `donor_trace` and `gift_flows` tell it by line of care and by gift.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Case, F, Q, Sum, Value, When
from django.db.models.functions import Coalesce

from ledger.models import Gift, Inflow, Use
from ledger.models.accounts import FEES, KIND_OF, TRANSFERS, Kind

CARE = "posting__charge"
NOT_MONEY = (Gift.Way.GOODS, Gift.Way.PAST)


@dataclass(frozen=True, slots=True)
class Given:
    """A gift of these days, with what of it went back in the same days."""

    gift_id: int
    entry_number: int
    way: str
    received_on: date
    amount_minor: int
    fee_minor: int
    returned_minor: int
    words: str
    quantity: Decimal
    unit: str

    @property
    def is_money(self) -> bool:
        return self.way not in NOT_MONEY

    @property
    def is_goods(self) -> bool:
        return self.way == Gift.Way.GOODS

    @property
    def is_past(self) -> bool:
        return self.way == Gift.Way.PAST


@dataclass(frozen=True, slots=True)
class Came:
    """What a gift brought into a fund, or what of it was moved there from another."""

    inflow_id: int
    gift_id: int
    way: str
    received_on: date
    fund_id: int
    fund_name: str
    given_for: str
    on: date
    amount_minor: int
    is_moved: bool

    @property
    def is_from_before(self) -> bool:
        """Whether it was left over when the books began."""
        return self.way == Gift.Way.OPENING


@dataclass(frozen=True, slots=True)
class Went:
    """What was taken out of an inflow for one thing; before these days it is not told for what."""

    came: Came
    charge_id: int | None  # the line of care, a correction counting on the line that it corrects
    subject_key: str
    is_fee: bool
    is_moved: bool
    has_left: bool  # it went back to its giver, or its entry was taken back
    before_minor: int
    now_minor: int


@dataclass(frozen=True, kw_only=True)
class DonorMoney:
    from_on: date
    to_on: date
    given: tuple[Given, ...]
    came: tuple[Came, ...]
    went: tuple[Went, ...]


def donor_money(*, ids: tuple[int, ...], from_on: date, to_on: date) -> DonorMoney:
    """Return what the donor for whom these ids stand gave in these days, and what came and went of theirs until then.

    `one_donor` knows the ids; they are asked for beforehand, so that who makes a paper asks once who the donor is.
    """
    inflows = _inflows(ids)
    return DonorMoney(
        from_on=from_on,
        to_on=to_on,
        given=_given(ids, from_on, to_on),
        came=tuple(came for came in inflows.values() if came.on <= to_on),
        went=_went(ids, inflows, from_on, to_on),
    )


def _given(ids: tuple[int, ...], from_on: date, to_on: date) -> tuple[Given, ...]:
    """Money counts on its book date, goods and what was given before the books began on the day they were received."""
    booked, received = Q(entry__on__range=(from_on, to_on)), Q(received_on__range=(from_on, to_on))
    undone = Q(way=Gift.Way.PAST, entry__reversed_by__isnull=False)
    back = Sum("returns__amount_minor", filter=Q(returns__entry__on__range=(from_on, to_on)))
    gifts = Gift.objects.filter(
        booked & ~Q(way__in=NOT_MONEY) | received & Q(way__in=NOT_MONEY) & ~undone, donor__in=ids
    )
    rows = gifts.order_by("received_on", "id").annotate(returned=Coalesce(back, 0))
    return tuple(
        Given(*row[:-2], quantity=Decimal(row[-2] or 0) / 1000, unit=row[-1])
        for row in rows.values_list(
            "id", "entry", "way", "received_on", "amount_minor", "fee_minor", "returned",
            Coalesce("entry__words__line", Value("")), "quantity_thousandths", "unit",
        )
    )  # fmt: skip


def _inflows(ids: tuple[int, ...]) -> dict[int, Came]:
    inflows = Inflow.objects.filter(gift__donor__in=ids).exclude(gift__way=Gift.Way.GOODS)
    rows = inflows.order_by("id").values_list(
        "id", "gift", "gift__way", "gift__received_on", "fund", "fund__name", "fund__given_for", "entry__on",
        "amount_minor", "posting__debit", "posting__credit",
    )  # fmt: skip
    return {row[0]: Came(*row[:-2], is_moved=TRANSFERS in row[-2:]) for row in rows}


def _went(ids: tuple[int, ...], inflows: dict[int, Came], from_on: date, to_on: date) -> tuple[Went, ...]:
    now, before = Q(entry__on__gte=from_on), Q(entry__on__lt=from_on)
    uses = Use.objects.filter(inflow__gift__donor__in=ids, entry__on__lte=to_on).exclude(
        inflow__gift__way=Gift.Way.GOODS
    )
    rows = uses.values_list(
        "inflow",
        Case(When(now, then=Coalesce(f"{CARE}__reverses", CARE))),
        Coalesce(Case(When(now, then=F(f"{CARE}__subject_key"))), Value("")),
        "posting__debit",
        "posting__credit",
    ).annotate(earlier=_sum(before), minor=_sum(now))
    return tuple(
        Went(inflows[inflow], charge, subject, *_went_for(*accounts), earlier, minor)
        for inflow, charge, subject, *accounts, earlier, minor in rows
    )


def _went_for(debit: str, credit: str) -> tuple[bool, bool, bool]:
    """Say of two accounts whether money between them is a fee, was moved to another fund, or has left."""
    is_moved = TRANSFERS in (debit, credit)
    return FEES in (debit, credit), is_moved, not is_moved and Kind.INCOME in (KIND_OF[debit], KIND_OF[credit])


def _sum(which: Q) -> Sum:
    return Sum("amount_minor", filter=which, default=0)
