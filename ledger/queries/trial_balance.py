"""The trial balance of a period: every account with what it held, its debits and credits, and what it holds.

What is owned and owed is carried on. Income and expense count within the period; what they came to before it
stands in one line, the net assets at its beginning.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from ledger.models import Account
from ledger.models.accounts import Kind
from ledger.queries.reports import Scope, moves
from ledger.queries.sums import IN_OR_OUT, accounts_at


@dataclass(frozen=True, kw_only=True)
class AccountLine:
    """One account; positive is a debit balance, negative a credit balance."""

    code: str
    name: str
    accountants_code: str
    kind_words: str
    opening_minor: int
    debits_minor: int
    credits_minor: int

    @property
    def closing_minor(self) -> int:
        return self.opening_minor + self.debits_minor - self.credits_minor

    @property
    def debit_minor(self) -> int:
        return max(self.closing_minor, 0)

    @property
    def credit_minor(self) -> int:
        return max(-self.closing_minor, 0)


@dataclass(frozen=True, kw_only=True)
class TrialBalance:
    scope: Scope
    lines: tuple[AccountLine, ...]

    @property
    def debits_minor(self) -> int:
        return sum(line.debits_minor for line in self.lines)

    @property
    def credits_minor(self) -> int:
        return sum(line.credits_minor for line in self.lines)

    @property
    def debit_minor(self) -> int:
        return sum(line.debit_minor for line in self.lines)

    @property
    def credit_minor(self) -> int:
        return sum(line.credit_minor for line in self.lines)


def trial_balance(*, scope: Scope) -> TrialBalance:
    """Return every account that held something or moved. Debits and credits come to the same."""
    opening = accounts_at(on=scope.day_before, as_of=scope.as_of)
    debits: dict[str, int] = defaultdict(int)
    credits: dict[str, int] = defaultdict(int)
    for row in moves(scope):
        debits[row.debit] += row.amount_minor
        credits[row.credit] += row.amount_minor
    before = sum(minor for code, minor in opening.items() if code in IN_OR_OUT)
    lines = [
        AccountLine(
            code=account.code,
            name=account.name,
            accountants_code=account.accountants_code,
            kind_words=Kind(account.kind).label,
            opening_minor=0 if account.code in IN_OR_OUT else opening.get(account.code, 0),
            debits_minor=debits.get(account.code, 0),
            credits_minor=credits.get(account.code, 0),
        )
        for account in Account.objects.order_by("position")
    ]
    shown = [line for line in lines if line.opening_minor or line.debits_minor or line.credits_minor]
    place = sum(line.code not in IN_OR_OUT for line in shown)
    if before:
        shown.insert(place, _net_assets(before))
    return TrialBalance(scope=scope, lines=tuple(shown))


def _net_assets(before_minor: int) -> AccountLine:
    return AccountLine(
        code="",
        name="Net assets at the beginning",
        accountants_code="",
        kind_words="all funds",
        opening_minor=before_minor,
        debits_minor=0,
        credits_minor=0,
    )
