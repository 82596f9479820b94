"""What all care of a period came to, by day of care: summed in the database, over one month or over ten years."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import Case, CharField, F, Q, Sum, When
from django.db.models.functions import Cast, Substr

from ledger.models import Charge, Share
from ledger.models.accounts import NAME_OF

# Where more came as goods than is not asked, the clinic gave nothing beside them; a reversal mirrors its charge.
GIVES = Q(usual_minor__gt=F("asked_minor") + F("goods_minor"), reverses=None) | Q(
    usual_minor__lt=F("asked_minor") + F("goods_minor"), reverses__isnull=False
)


@dataclass(frozen=True, slots=True)
class CareSum:
    """One animal's care of one kind in one month, for one partner. Figures are in minor units.

    `given_minor` is what the clinic gave beside what it asked; `time_minor` is the unpaid time in it.
    """

    subject_key: str
    party_key: str
    month: str  # "2026-10"
    kind: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    goods_minor: int
    given_minor: int
    time_minor: int

    @property
    def discount_minor(self) -> int:
        return self.given_minor - self.time_minor


@dataclass(frozen=True, slots=True)
class TakenOver:
    """Asked money that the clinic took over itself, by animal, month of care and partner."""

    subject_key: str
    party_key: str
    month: str
    amount_minor: int


def care_sums(*, from_on: date, to_on: date) -> Iterator[CareSum]:
    """Give the care of a period by animal, partner, month and kind; a correction counts on its day of care."""
    rows = (
        Charge.objects.filter(care_on__range=(from_on, to_on))
        .values_list("subject_key", "party_key", _month("care_on"), "kind_id")
        .annotate(
            cost=Sum("cost_minor"),
            usual=Sum("usual_minor"),
            asked=Sum("asked_minor"),
            goods=Sum("goods_minor"),
            given=Sum(Case(When(GIVES, then=F("usual_minor") - F("asked_minor") - F("goods_minor")), default=0)),
            time=Sum("time_minor"),
        )
        .order_by()
    )
    return (CareSum(*facts, time or 0) for *facts, time in rows)


def days_of_care(*, from_on: date, to_on: date) -> dict[str, int]:
    """Return on how many days each animal was given care that still stands."""
    days = (
        Charge.objects.filter(care_on__range=(from_on, to_on))
        .values("subject_key", "care_on")
        .annotate(left=Sum("quantity_thousandths"))
        .exclude(left=0)
        .order_by()
    )
    return dict(Counter(days.values_list("subject_key", flat=True)))


def taken_over(*, from_on: date, to_on: date) -> tuple[TakenOver, ...]:
    """Return what the clinic took over of the care of a period, what was given back left out."""
    rows = (
        Share.objects.filter(payer=Share.Payer.GIVEN, charge__care_on__range=(from_on, to_on))
        .values_list("charge__subject_key", "charge__party_key", _month("charge__care_on"))
        .annotate(total=Sum("amount_minor"))
        .order_by()
    )
    return tuple(TakenOver(*facts) for facts in rows if facts[-1])


def kind_words(kind: str) -> str:
    return NAME_OF[kind]


def _month(column: str):
    """Cut the month out of a date as text: truncating dates calls back into Python for every row on SQLite."""
    return Substr(Cast(column, CharField()), 1, 7)
