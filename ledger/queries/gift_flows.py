"""Where each of a donor's gifts went in a period: to which subjects of care, to fees, and what of it waits.

For each gift: waiting before + received = paid + fee + left again + waiting after.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date

from django.db.models import F, Q, Sum

from ledger.models import Gift, GiftReturn, Inflow, Use
from ledger.models.accounts import FEES
from ledger.queries import one_donor
from ledger.queries.donor_trace import MOVED


@dataclass(frozen=True, kw_only=True)
class GiftFlow:
    gift_id: int
    received_on: date
    fund_name: str
    is_new: bool  # received in the period; an earlier one waited into it
    start_minor: int
    paid: dict[str, int] = field(default_factory=dict)  # by subject key
    fee_minor: int = 0
    left_again_minor: int = 0

    @property
    def paid_minor(self) -> int:
        return sum(self.paid.values())

    @property
    def waiting_minor(self) -> int:
        return self.start_minor - self.paid_minor - self.fee_minor - self.left_again_minor


def gift_flows(*, donor_id: int, from_on: date, to_on: date) -> tuple[GiftFlow, ...]:
    """Return the donor's gifts that were received or still waited in these days, the oldest first."""
    ids = one_donor.whole(donor_id=donor_id)
    mine = Q(gift__donor__in=ids) & ~Q(gift__way=Gift.Way.GOODS)
    everywhere = Inflow.objects.filter(mine, entry__on__lte=to_on)
    inflows = everywhere.exclude(MOVED)
    start: dict[int, int] = defaultdict(int)
    told: dict[int, tuple[date, str]] = {}
    left_over: set[int] = set()
    words = {"on": F("gift__received_on"), "way": F("gift__way"), "name": F("fund__name")}
    for row in inflows.order_by("id").values("gift", "amount_minor", **words):
        start[row["gift"]] += row["amount_minor"]
        if row["way"] == Gift.Way.OPENING:
            left_over.add(row["gift"])
        told.setdefault(row["gift"], (row["on"], row["name"]))
    uses = Use.objects.filter(inflow__in=everywhere, entry__on__lte=to_on).exclude(MOVED)
    paid: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    fees: dict[int, int] = defaultdict(int)
    left: dict[int, int] = defaultdict(int)
    rows = uses.values_list("inflow__gift", "posting__charge__subject_key", "posting__debit", "posting__credit")
    before = Sum("amount_minor", filter=Q(entry__on__lt=from_on), default=0)
    now = Sum("amount_minor", filter=Q(entry__on__gte=from_on), default=0)
    for gift, subject, debit, credit, earlier, minor in rows.annotate(earlier=before, minor=now):
        start[gift] -= earlier
        if subject:
            paid[gift][subject] += minor
        elif FEES in (debit, credit):
            fees[gift] += minor
        else:
            left[gift] += minor
    back = GiftReturn.objects.filter(
        gift__donor__in=ids, gift__entry__on__gte=from_on, entry__on__gte=from_on, entry__on__lte=to_on
    )
    for gift, minor in back.values_list("gift").annotate(Sum("amount_minor")):
        start[gift] -= minor  # what came and went back in the same days is no gift on a paper (E3)
        left[gift] -= minor
    return tuple(
        GiftFlow(
            gift_id=gift,
            received_on=on,
            fund_name=name,
            is_new=on >= from_on and gift not in left_over,
            start_minor=start[gift],
            paid={subject: minor for subject, minor in paid[gift].items() if minor},
            fee_minor=fees[gift],
            left_again_minor=left[gift],
        )
        for gift, (on, name) in sorted(told.items(), key=lambda item: (item[1][0], item[0]))
        if start[gift] or any(paid[gift].values())
    )
