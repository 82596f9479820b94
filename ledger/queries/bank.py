"""The bank's accounts: their statements in order, and whether each leads to the next."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Max, Sum

from config.days import day_year
from ledger.formulas.bank_files import written
from ledger.models import BankAccount, BankLine, BankStatement


@dataclass(frozen=True, kw_only=True)
class Gap:
    """A statement whose balance does not follow from those before it and the lines since."""

    account_id: int
    account_name: str
    on: date
    expected_minor: int
    closing_minor: int
    currency: str

    @property
    def sentence(self) -> str:
        expected, told = (written(minor, self.currency) for minor in (self.expected_minor, self.closing_minor))
        return (
            f"{self.account_name}: by the statements before and the lines since, {day_year(self.on)} would close at "
            f"{expected}, and the bank says {told}. A statement between them is missing."
        )


def gaps() -> list[Gap]:
    """Return of each account the first statement that the ones before it do not lead to."""
    found = []
    for account in BankAccount.objects.order_by("name"):
        statements = list(account.statements.order_by("to_on", "id"))
        if gap := _first_gap(account, statements):
            found.append(gap)
    return found


def _first_gap(account: BankAccount, statements: Sequence[BankStatement]) -> Gap | None:
    """A balance follows by the days of the lines, or by the order of the files where one ends within a day."""
    if not statements:
        return None
    opening = opening_of(statements).opening_minor
    moved: dict[date, int] = defaultdict(int)
    brought: dict[int, int] = {}
    for on, minor in account.lines.values_list("on").annotate(Sum("amount_minor")):
        moved[on] += minor
    rows = BankLine.objects.filter(account=account).values_list("statement").annotate(Sum("amount_minor"))
    brought.update(rows)
    by_order = opening
    for one in statements:
        by_order += brought.get(one.id, 0)
        by_day = opening + sum(minor for on, minor in moved.items() if on <= one.to_on)
        if one.closing_minor not in (by_day, by_order):
            return Gap(
                account_id=account.id,
                account_name=account.name,
                on=one.to_on,
                expected_minor=by_day,
                closing_minor=one.closing_minor,
                currency=account.currency,
            )
    return None


def opening_of(statements: Sequence[BankStatement]) -> BankStatement:
    """Return the statement with which an account begins here."""
    return min(statements, key=lambda one: (one.from_on, one.to_on, one.id))


def reaches_to() -> date | None:
    """Return the last day that the statements of every account reach, None before there is one."""
    last = BankStatement.objects.values("account").annotate(last=Max("to_on")).values_list("last", flat=True)
    return min(last, default=None)
