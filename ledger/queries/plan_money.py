"""What the books keep for a plan: money set aside for it, and the ceiling of general money (D3, D4)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from config import home
from ledger.models import Ceiling, Commitment, LimitUse
from ledger.queries.balances import balances
from ledger.queries.limits import Counted, used_by_shares


@dataclass(frozen=True, kw_only=True)
class SetAside:
    """`short_minor` is what the fund has set aside beyond what it holds: its plans cannot all be paid."""

    fund_id: int
    fund_name: str
    words: str
    made_on: date
    amount_minor: int
    left_minor: int
    short_minor: int


@dataclass(frozen=True, kw_only=True)
class CeilingLine:
    most_minor: int
    used_minor: int
    set_on: date
    lifted_on: date | None
    lifted_by: str
    lifted_why: str

    @property
    def left_minor(self) -> int:
        return max(self.most_minor - self.used_minor, 0)


@dataclass(frozen=True, kw_only=True)
class PlanMoney:
    set_aside: tuple[SetAside, ...]
    ceiling: CeilingLine | None

    @property
    def left_minor(self) -> int:
        return sum(line.left_minor for line in self.set_aside)


def plan_money(*, plan_key: str) -> PlanMoney:
    """Return what stands for a plan now."""
    return PlanMoney(
        set_aside=set_aside(Commitment.objects.filter(plan_key=plan_key, ended_on=None)), ceiling=_ceiling(plan_key)
    )


def set_aside(rows) -> tuple[SetAside, ...]:
    """Return standing commitments with what their funds are short of for all that they have set aside."""
    found = list(rows.select_related("fund").order_by("fund__opened_on", "id"))
    kept: dict[int, int] = {}
    standing = Commitment.objects.filter(fund__in={row.fund_id for row in found}, ended_on=None)
    for fund_id, left in standing.values_list("fund", "left_minor"):
        kept[fund_id] = kept.get(fund_id, 0) + left
    there = balances() if found else {}
    return tuple(
        SetAside(
            fund_id=row.fund_id,
            fund_name=row.fund.name,
            words=row.words,
            made_on=row.made_on,
            amount_minor=row.amount_minor,
            left_minor=row.left_minor,
            short_minor=max(kept[row.fund_id] - max(there[row.fund_id], 0), 0),
        )
        for row in found
    )


def _ceiling(plan_key: str) -> CeilingLine | None:
    row = Ceiling.objects.filter(plan_key=plan_key).first()
    if row is None:
        return None
    what = Counted(fund_id=None, plan_key=plan_key)
    used = LimitUse.objects.filter(key=what.key).values_list("used_minor", flat=True).first()
    return CeilingLine(
        most_minor=row.most_minor,
        used_minor=used_by_shares(what) if used is None else used,
        set_on=row.set_on,
        lifted_on=row.lifted_on,
        lifted_by=home.person(row.lifted_by) if row.lifted_by else "",
        lifted_why=row.lifted_why,
    )
