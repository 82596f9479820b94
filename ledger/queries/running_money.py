"""What came in and what was spent, summed day by day over a period: money alone, no donated services."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from ledger.models.accounts import (
    CARE,
    DONATED_GOODS,
    DONATED_SERVICES,
    FEES,
    FUNDRAISING,
    GIFTS,
    GOODS_ON_HAND,
    GRANTS,
    MANAGEMENT,
    OTHER_INCOME,
    PARTNER_PAYMENTS,
)
from ledger.queries.reports import Scope
from ledger.queries.sums import moved_by_day

CAME, WENT = (GIFTS, GRANTS, PARTNER_PAYMENTS, OTHER_INCOME), (*CARE, FEES, MANAGEMENT, FUNDRAISING)
NO_MONEY = (DONATED_SERVICES, DONATED_GOODS, GOODS_ON_HAND)

Points = tuple[tuple[date, int], ...]


@dataclass(frozen=True, kw_only=True)
class RunningMoney:
    came: Points
    went: Points

    @property
    def came_minor(self) -> int:
        return self.came[-1][1]

    @property
    def went_minor(self) -> int:
        return self.went[-1][1]


def running_money(*, scope: Scope) -> RunningMoney:
    """Return both lines from the first day of a period to its last, at each day on which either moved."""
    came: dict[date, int] = defaultdict(int)
    went: dict[date, int] = defaultdict(int)
    for row in moved_by_day(from_on=scope.from_on, to_on=scope.to_on, as_of=scope.as_of):
        if row.debit in NO_MONEY or row.credit in NO_MONEY:
            continue
        came[row.on] += row.amount_minor * ((row.credit in CAME) - (row.debit in CAME))
        went[row.on] += row.amount_minor * ((row.debit in WENT) - (row.credit in WENT))
    return RunningMoney(came=_summed(came, scope), went=_summed(went, scope))


def _summed(by_day: dict[date, int], scope: Scope) -> Points:
    points, so_far = [], 0
    for on in sorted({scope.from_on, *(on for on, minor in by_day.items() if minor), scope.to_on}):
        so_far += by_day.get(on, 0)
        points.append((on, so_far))
    return tuple(points)
