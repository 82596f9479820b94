"""A fund's budget against what was spent, and its dates."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, Sum

from ledger.models import BudgetLine, Fund, Posting, traits
from ledger.models.accounts import CARE, NAME_OF


@dataclass(frozen=True, kw_only=True)
class PlannedLine:
    """One budget line. `left_minor` below zero: more was spent than planned."""

    line_id: int
    words: str
    matches: tuple[str, ...]
    from_on: date
    until_on: date
    amount_minor: int
    spent_minor: int

    @property
    def left_minor(self) -> int:
        return self.amount_minor - self.spent_minor


@dataclass(frozen=True, kw_only=True)
class Budget:
    lines: tuple[PlannedLine, ...]
    use_by: date | None
    report_on: date | None

    @property
    def amount_minor(self) -> int:
        return sum(line.amount_minor for line in self.lines)

    @property
    def spent_minor(self) -> int:
        return sum(line.spent_minor for line in self.lines)

    @property
    def left_minor(self) -> int:
        return self.amount_minor - self.spent_minor


def budget(*, fund_id: int) -> Budget:
    """Return the lines that stand, each with what was spent on its care in its days, and the fund's dates."""
    fund = Fund.objects.get(id=fund_id)
    rows = list(BudgetLine.objects.filter(fund=fund, ended_on=None).order_by("from_on", "id"))
    spent: dict[int, int] = defaultdict(int)
    for period in {(row.from_on, row.until_on) for row in rows}:
        within = [row for row in rows if (row.from_on, row.until_on) == period]
        for words, minor in _spent(fund_id, *period):
            line = next((row for row in within if traits.unpack(row.matches) & words), None)
            if line:
                spent[line.id] += minor
    return Budget(
        lines=tuple(
            PlannedLine(
                line_id=row.id,
                words=row.words,
                matches=tuple(_said(word) for word in sorted(traits.unpack(row.matches))),
                from_on=row.from_on,
                until_on=row.until_on,
                amount_minor=row.amount_minor,
                spent_minor=spent[row.id],
            )
            for row in rows
        ),
        use_by=fund.use_by,
        report_on=fund.report_on,
    )


def _said(word: str) -> str:
    return NAME_OF.get(word, word.replace("_", " ").replace(":", ": ")).lower()


def _spent(fund_id: int, from_on: date, until_on: date) -> list[tuple[frozenset[str], int]]:
    """Return what care cost the fund in some days, by its kind and traits; what was given back counts against it."""
    rows = (
        Posting.objects.filter(fund=fund_id, on__range=(from_on, until_on))
        .filter(Q(debit__in=CARE) | Q(credit__in=CARE))
        .values_list("debit", "credit", "charge__traits")
        .annotate(total=Sum("amount_minor"))
    )
    found = []
    for debit, credit, packed, minor in rows:
        kind, sign = (debit, 1) if debit in CARE else (credit, -1)
        found.append((traits.unpack(packed or "") | {kind}, sign * minor))
    return found
