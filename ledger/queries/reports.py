"""What every report begins with: its period, the entry it is as of, and what moved in it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from ledger.formulas import chain
from ledger.models import Entry
from ledger.queries.sums import Moved, last_number, moved


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

    @property
    def day_before(self) -> date:
        return self.from_on - timedelta(days=1)


def scope(*, from_on: date, to_on: date, as_of: int | None = None) -> Scope:
    """Return the scope of a report; without a number, or with one that is yet to come, as of the last entry."""
    last = last_number()
    number = min(as_of or last, last)
    digest = Entry.objects.filter(id=number).values_list("digest", flat=True).first() or ""
    return Scope(from_on=from_on, to_on=to_on, as_of=number, digest=digest)


def moves(of: Scope) -> tuple[Moved, ...]:
    """Return what moved in the period."""
    return moved(from_on=of.from_on, to_on=of.to_on, as_of=of.as_of)


def by_fund(moved: tuple[Moved, ...]) -> dict[int, dict[str, int]]:
    """Return, for each fund that moved, debits less credits by account."""
    sums: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for row in moved:
        sums[row.fund_id][row.debit] += row.amount_minor
        sums[row.fund_id][row.credit] -= row.amount_minor
    return sums
