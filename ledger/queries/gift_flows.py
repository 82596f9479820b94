"""Where each of a donor's gifts went in a period: to which subjects of care, to fees, and what of it waits.

For each gift: waiting before + received = paid + fee + other costs + left again + waiting after.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date

from ledger.queries.donor_money import Came, DonorMoney


@dataclass(frozen=True, kw_only=True)
class GiftFlow:
    gift_id: int
    received_on: date
    fund_name: str
    is_new: bool  # received in the period; an earlier one waited into it
    start_minor: int
    paid: dict[str, int] = field(default_factory=dict)  # by subject key
    fee_minor: int = 0
    other_costs_minor: int = 0
    left_again_minor: int = 0

    @property
    def paid_minor(self) -> int:
        return sum(self.paid.values())

    @property
    def waiting_minor(self) -> int:
        return self.start_minor - self.paid_minor - self.fee_minor - self.other_costs_minor - self.left_again_minor


def flows(money: DonorMoney) -> tuple[GiftFlow, ...]:
    """Tell a donor's money gift by gift: those that were received or still waited in these days, the oldest first."""
    start: dict[int, int] = defaultdict(int)
    first: dict[int, Came] = {}
    for came in money.came:
        if not came.is_moved:
            start[came.gift_id] += came.amount_minor
            first.setdefault(came.gift_id, came)
    paid: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    fees: dict[int, int] = defaultdict(int)
    costs: dict[int, int] = defaultdict(int)
    left: dict[int, int] = defaultdict(int)
    for went in money.went:
        gift = went.came.gift_id
        if went.is_moved:
            continue
        start[gift] -= went.before_minor
        if went.subject_key:
            paid[gift][went.subject_key] += went.now_minor
        elif went.is_fee:
            fees[gift] += went.now_minor
        else:
            (left if went.has_left else costs)[gift] += went.now_minor
    for given in money.given:  # what came and went back in the same days is no gift on a paper (E3)
        start[given.gift_id] -= given.returned_minor
        left[given.gift_id] -= given.returned_minor
    return tuple(
        GiftFlow(
            gift_id=gift,
            received_on=came.received_on,
            fund_name=came.fund_name,
            is_new=came.received_on >= money.from_on and not came.is_from_before,
            start_minor=start[gift],
            paid={subject: minor for subject, minor in paid[gift].items() if minor},
            fee_minor=fees[gift],
            other_costs_minor=costs[gift],
            left_again_minor=left[gift],
        )
        for gift, came in sorted(first.items(), key=lambda item: (item[1].received_on, item[0]))
        if start[gift] or any(paid[gift].values())
    )
