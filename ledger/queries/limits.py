"""What limits and ceilings leave for a line of care (D2, D3, F1), as they stand while a batch is being shared."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol, TypeVar

from django.db.models import Q, QuerySet, Sum

from ledger.formulas.slips import Slip
from ledger.models import Ceiling, Fund, Limit, LimitUse, Share
from ledger.queries.policies import policy
from ledger.queries.reasons import STANDING, TAKEN_OVER


class Dated(Protocol):
    """Terms from a day on, until a day or without an end."""

    @property
    def from_on(self) -> date: ...

    @property
    def until_on(self) -> date | None: ...


Row = TypeVar("Row", bound=Dated)


@dataclass(eq=False)
class Bound:
    """How much one limit still leaves; `code` is the reason that the books keep when it is reached."""

    code: str
    left: int


@dataclass(frozen=True, kw_only=True)
class Counted:
    """For what one limit counts: a fund's animal, month or both, or the general money of one path."""

    fund_id: int | None
    subject_key: str = ""
    month: date | None = None
    plan_key: str = ""

    @property
    def key(self) -> str:
        if self.plan_key:
            return f"plan:{self.plan_key}"
        month = f":{self.month:%Y-%m}" if self.month else ""
        return f"fund:{self.fund_id}:{self.subject_key}{month}"


def counted(limit: Limit, *, subject_key: str, month: date) -> Counted:
    return Counted(
        fund_id=limit.fund_id,
        subject_key="" if limit.per == Limit.Per.MONTH else subject_key,
        month=None if limit.per == Limit.Per.ANIMAL else month,
    )


def in_force(rows: Iterable[Row], on: date) -> list[Row]:
    """Return the limits, agreements or decisions that are in force on a day; both their days are counted in."""
    return [row for row in rows if row.from_on <= on and (row.until_on is None or on <= row.until_on)]


class Bounds:
    """The limits of a batch's funds and the ceilings of its paths."""

    def __init__(self, *, slips: Sequence[Slip], fund_ids: Sequence[int], today: date) -> None:
        self.limits: dict[int, list[Limit]] = defaultdict(list)
        for row in Limit.objects.filter(fund_id__in=fund_ids).order_by("id"):
            self.limits[row.fund_id].append(row)
        plans = {slip.plan_key for slip in slips if slip.plan_key}
        rows = Ceiling.objects.filter(plan_key__in=plans, lifted_on=None) if plans else ()
        self.ceilings = {row.plan_key: row for row in rows}
        if self.ceilings and policy(code="general_ceiling", on=today) is False:
            self.ceilings = {}
        self._seen: dict[str, Bound] = {}
        self._used = self._read(slips)

    def of(self, *, slip: Slip, fund_id: int, is_general: bool) -> list[Bound]:
        bounds = []
        for limit in in_force(self.limits.get(fund_id, ()), slip.care_on):
            what = counted(limit, subject_key=slip.subject_key, month=slip.care_on.replace(day=1))
            bounds.append(self._bound(what, f"limit_{limit.per}", limit.most_minor))
        if is_general and (ceiling := self.ceilings.get(slip.plan_key)):
            what = Counted(fund_id=None, plan_key=slip.plan_key)
            bounds.append(self._bound(what, "ceiling", ceiling.most_minor))
        return bounds

    def _bound(self, what: Counted, code: str, most_minor: int) -> Bound:
        if what.key not in self._seen:
            used = self._used.get(what.key)
            left = most_minor - (used_by_shares(what) if used is None else used)
            self._seen[what.key] = Bound(code=code, left=max(left, 0))
        return self._seen[what.key]

    def _read(self, slips: Sequence[Slip]) -> dict[str, int]:
        keys = {Counted(fund_id=None, plan_key=plan).key for plan in self.ceilings}
        for slip in slips if self.limits else ():
            for rows in self.limits.values():
                keys |= {
                    counted(row, subject_key=slip.subject_key, month=slip.care_on.replace(day=1)).key for row in rows
                }
        if not keys:
            return {}
        return dict(LimitUse.objects.filter(key__in=keys).values_list("key", "used_minor"))


def shares_in_order() -> QuerySet[Share]:
    """Return the shares that came by the order of payers, without what somebody took over by name."""
    decided = Q(reason=TAKEN_OVER) | Q(reason__startswith=STANDING)
    root = Q(posting__back_of__share__reason=TAKEN_OVER) | Q(posting__back_of__share__reason__startswith=STANDING)
    return Share.objects.exclude(decided).exclude(root)


def used_by_shares(what: Counted) -> int:
    """Return what the order of payers has taken so far."""
    shares = shares_in_order()
    if what.plan_key:
        shares = shares.filter(charge__plan_key=what.plan_key, fund__kind=Fund.Kind.GENERAL)
    else:
        shares = shares.filter(fund_id=what.fund_id)
        if what.subject_key:
            shares = shares.filter(charge__subject_key=what.subject_key)
        if what.month:
            shares = shares.filter(charge__care_on__year=what.month.year, charge__care_on__month=what.month.month)
    return shares.aggregate(total=Sum("amount_minor"))["total"] or 0
