"""What was spent in a period, by what it was and by what it was for.

The two programs are the care of animals on a planned path and all other care. What a giving site keeps is the price of
raising money, and a debt given up is part of running the house (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from ledger.formulas.functional_expenses import CrossTable, cross_table
from ledger.models.accounts import (
    CARE,
    CHART,
    DEBTS_GIVEN_UP,
    FEES,
    FUNDRAISING,
    MANAGEMENT,
    Kind,
)
from ledger.queries.reports import Scope
from ledger.queries.sums import spent

PATHS, OTHER, RUNNING, RAISING = "Care on a path", "Other care", "Management", "Fundraising"
FUNCTIONS = (PATHS, OTHER, RUNNING, RAISING)
FUNCTION_OF = {FEES: RAISING, FUNDRAISING: RAISING, MANAGEMENT: RUNNING, DEBTS_GIVEN_UP: RUNNING}
NATURES = {code: "Paid to others" if code in (MANAGEMENT, FUNDRAISING) else name for code, _, name in CHART}
EXPENSES = tuple(code for code, kind, _ in CHART if kind == Kind.EXPENSE)


@dataclass(frozen=True, kw_only=True)
class FunctionalExpenses:
    scope: Scope
    table: CrossTable

    @property
    def care_in_100(self) -> str:
        """Of 100 spent, how much went into care, cut after the first decimal; empty where nothing was spent."""
        together = self.table.together
        care = sum(together.amounts[: FUNCTIONS.index(RUNNING)])
        if not together.together_minor:
            return ""
        tenths = care * 1000 // together.together_minor
        return f"{tenths // 10}.{tenths % 10}" if tenths % 10 else f"{tenths // 10}"


def functional_expenses(*, scope: Scope) -> FunctionalExpenses:
    rows = spent(from_on=scope.from_on, to_on=scope.to_on, as_of=scope.as_of, accounts=EXPENSES)
    table = cross_table(
        natures=tuple(dict.fromkeys(NATURES[code] for code in EXPENSES)),
        functions=FUNCTIONS,
        spent=[(NATURES[row.account], _function(row.account, row.on_path), row.amount_minor) for row in rows],
    )
    return FunctionalExpenses(scope=scope, table=table)


def _function(account: str, on_path: bool) -> str:
    if account in CARE:
        return PATHS if on_path else OTHER
    return FUNCTION_OF[account]
