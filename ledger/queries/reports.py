"""What every report begins with: its period, the entry it is as of, and what moved and stood."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from ledger.formulas import chain
from ledger.models import Entry
from ledger.models.accounts import KIND_OF, Kind
from ledger.queries.sums import Moved, balances_at, last_number, moved

IN_OR_OUT = (Kind.INCOME, Kind.EXPENSE)


@dataclass(frozen=True, kw_only=True)
class Scope:
    """From and to, both counted in; entries up to `as_of` are counted, and `digest` is that of the last of them."""

    from_on: date
    to_on: date
    as_of: int
    digest: str

    @property
    def check_number(self) -> str:
        return chain.check_number(self.digest)


@dataclass(frozen=True, kw_only=True)
class Figures:
    """Debits less credits by fund and account before the period, and what moved in it."""

    opening: dict[tuple[int, str], int]
    moves: tuple[Moved, ...]


def scope(*, from_on: date, to_on: date, as_of: int | None = None) -> Scope:
    """Return the scope of a report; without a number, or with one that is yet to come, as of the last entry."""
    last = last_number()
    number = min(as_of or last, last)
    digest = Entry.objects.filter(id=number).values_list("digest", flat=True).first() or ""
    return Scope(from_on=from_on, to_on=to_on, as_of=number, digest=digest)


def figures(of: Scope) -> Figures:
    return Figures(
        opening=balances_at(on=of.from_on - timedelta(days=1), as_of=of.as_of),
        moves=moved(from_on=of.from_on, to_on=of.to_on, as_of=of.as_of),
    )


def net_assets(standing: dict[tuple[int, str], int]) -> dict[int, int]:
    """Return each fund's income less its expense."""
    funds: dict[int, int] = defaultdict(int)
    for (fund_id, code), minor in standing.items():
        if KIND_OF[code] in IN_OR_OUT:
            funds[fund_id] -= minor
    return funds


def by_fund(moves: tuple[Moved, ...]) -> dict[int, dict[str, int]]:
    """Return, for each fund that moved, debits less credits by account."""
    sums: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for row in moves:
        sums[row.fund_id][row.debit] += row.amount_minor
        sums[row.fund_id][row.credit] -= row.amount_minor
    return sums
