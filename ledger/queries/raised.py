"""What a fund had on a day, and what came into it since: spending does not lower it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from django.db.models import Q

from ledger.models import Fund, Posting
from ledger.models.accounts import FEES, GIFTS, GRANTS, OTHER_INCOME, TRANSFERS
from ledger.queries.balances import closing_balance

CAME = (GIFTS, GRANTS, OTHER_INCOME, TRANSFERS, FEES)


@dataclass(frozen=True, kw_only=True)
class Raised:
    """`by_day` holds what was there and what came by the end of each day on which something came."""

    fund_name: str
    clause: str  # what happens to what is left over
    there_minor: int
    by_day: tuple[tuple[date, int], ...]

    @property
    def minor(self) -> int:
        return self.by_day[-1][1]

    def reached_on(self, minor: int) -> date | None:
        """The first day by whose end so much was there or had come, while it still is."""
        if self.minor < minor:
            return None
        below = [number for number, (_, raised) in enumerate(self.by_day) if raised < minor]
        return self.by_day[below[-1] + 1 if below else 0][0]


def raised(*, fund_id: int, from_on: date, until: date) -> Raised | None:
    """Return what a fund held at the end of the day before, and gifts less their fees and returns since then."""
    fund = Fund.objects.filter(id=fund_id).first()
    if fund is None:
        return None
    there = closing_balance(fund_id=fund_id, until=from_on - timedelta(days=1))
    rows = Posting.objects.filter(fund=fund_id, on__range=(from_on, until)).filter(
        Q(debit__in=CAME) | Q(credit__in=CAME)
    )
    found = rows.order_by("on").values_list("on", "debit", "credit", "amount_minor")
    by_day, so_far = [(from_on, there)], there
    for on, moves in groupby(found, key=lambda row: row[0]):
        so_far += sum(minor * ((credit in CAME) - (debit in CAME)) for _, debit, credit, minor in moves)
        by_day.append((on, so_far))
    return Raised(fund_name=fund.name, clause=fund.leftover, there_minor=there, by_day=tuple(by_day))


@dataclass(frozen=True, kw_only=True)
class NamingFund:
    fund_id: int
    name: str


def funds_naming(*, subject_key: str) -> tuple[NamingFund, ...]:
    """Return the open funds that name a subject and say what happens to what is left over, the newest first."""
    funds = Fund.objects.filter(kind=Fund.Kind.ANIMAL, subject_key=subject_key, closed_on=None).exclude(leftover="")
    return tuple(NamingFund(fund_id=pk, name=name) for pk, name in funds.order_by("-id").values_list("id", "name"))
