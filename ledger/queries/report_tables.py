"""Every report as one table for a file: heads, and rows whose amounts are numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from config import home
from config.charts.drawing import written
from config.exports import Sheet
from ledger.queries import journal as journals
from ledger.queries.activity import ClassLine, activity
from ledger.queries.functional_expenses import FUNCTIONS, functional_expenses
from ledger.queries.holder import HolderFacts, holder
from ledger.queries.related_party import CareLine, related_party
from ledger.queries.report_index import REPORTS as INDEX
from ledger.queries.reports import Scope
from ledger.queries.roll_forward import FundRoll, roll_forward
from ledger.queries.trial_balance import trial_balance

Row = tuple[object, ...]
TOGETHER = "Together"


@dataclass(frozen=True, kw_only=True)
class Printed:
    cells: tuple[tuple[str, bool], ...]
    is_total: bool


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A report to print: its heads and cells in words, each with whether it is an amount; no empty columns."""

    title: str
    scope: Scope
    holder: HolderFacts
    heads: tuple[tuple[str, bool], ...]
    rows: tuple[Printed, ...]

    @property
    def as_of_words(self) -> str:
        return f"As of entry {self.scope.as_of:,}"

    @property
    def size(self) -> str:
        return home.paper_of(self.holder.country)


def table(*, report: str, scope: Scope) -> Sheet | None:
    """Return a report as a table, or None where there is no report of this name."""
    made = REPORTS.get(report)
    if made is None:
        return None
    heads, rows = made
    return Sheet(title=report, heads=heads, rows=tuple(rows(scope)))


def paper(*, report: str, scope: Scope) -> Paper | None:
    """Return a report as it is printed; the journal, entry by entry, is a file and a page, and no paper."""
    found = table(report=report, scope=scope) if report in TITLES else None
    books = holder()
    if found is None or books is None:
        return None
    shown = [place for place in range(len(found.heads)) if any(row[place] not in ("", None) for row in found.rows)]
    amounts = [any(isinstance(row[place], Decimal) for row in found.rows) for place in shown]
    return Paper(
        title=TITLES[report],
        scope=scope,
        holder=books,
        heads=tuple((found.heads[place], is_amount) for place, is_amount in zip(shown, amounts, strict=True)),
        rows=tuple(
            Printed(
                cells=tuple((_written(row[place]), is_amount) for place, is_amount in zip(shown, amounts, strict=True)),
                is_total=TOGETHER in row,
            )
            for row in found.rows
        ),
    )


def _written(cell: object) -> str:
    """A cell in words; nothing where an amount is zero, as in a ruled book."""
    if isinstance(cell, Decimal):
        return written(int(cell.scaleb(home.digits())), home.digits()) if cell else ""
    return "" if cell is None else str(cell)


def money(amount_minor: int) -> Decimal:
    """Return an amount as a number of the currency, exactly."""
    return Decimal(amount_minor).scaleb(-home.digits())


def _roll(scope: Scope) -> Iterator[Row]:
    found = roll_forward(scope=scope)
    for line in found.together.lines:
        yield (line.name, "yes" if line.is_restricted else "no", *_rolled(line))
    together = found.together
    yield (
        TOGETHER,
        "",
        *(
            money(minor)
            for minor in (
                together.opening_minor,
                together.in_minor,
                together.out_minor,
                together.transfers_minor,
                together.closing_minor,
            )
        ),
    )


def _rolled(line: FundRoll) -> tuple[Decimal, ...]:
    parts = (line.opening_minor, line.in_minor, line.out_minor, line.transfers_minor, line.closing_minor)
    return tuple(money(minor) for minor in parts)


def _balance(scope: Scope) -> Iterator[Row]:
    found = trial_balance(scope=scope)
    for line in found.lines:
        figures = (line.opening_minor, line.debits_minor, line.credits_minor, line.debit_minor, line.credit_minor)
        yield (line.accountants_code, line.name, line.kind_words, *(money(minor) for minor in figures))
    sums = (found.debits_minor, found.credits_minor, found.debit_minor, found.credit_minor)
    yield ("", TOGETHER, "", None, *(money(minor) for minor in sums))


def _activity(scope: Scope) -> Iterator[Row]:
    found = activity(scope=scope)
    for group, lines in (
        ("came in", (*found.income, found.released)),
        ("went out", found.expense),
        ("", (found.moved, found.change, found.opening, found.closing)),
    ):
        for line in lines:
            yield (group, *_classes(line))
    for words, amount_minor in (
        ("Bank at the beginning", found.cash.opening_minor),
        *((line.words, line.amount_minor) for line in found.cash.came),
        *((line.words, -line.amount_minor) for line in found.cash.went),
        ("Bank at the end", found.cash.closing_minor),
    ):
        yield ("bank", words, None, None, money(amount_minor))


def _classes(line: ClassLine) -> Row:
    return (line.words, money(line.without_minor), money(line.with_minor), money(line.together_minor))


def _functional(scope: Scope) -> Iterator[Row]:
    found = functional_expenses(scope=scope).table
    for line in (*found.lines, found.together):
        yield (line.words, *(money(minor) for minor in (*line.amounts, line.together_minor)))


def _journal(scope: Scope) -> Iterator[Row]:
    for entry in journals.whole(scope=scope):
        for line in entry.postings:
            yield (
                entry.on,
                entry.number,
                entry.kind_words,
                entry.words,
                line.debit.code,
                line.debit.name,
                line.credit.code,
                line.credit.name,
                line.fund_name,
                money(line.amount_minor),
            )


def _related(scope: Scope) -> Iterator[Row]:
    found = related_party(scope=scope)
    for line in (*found.lines, found.together):
        yield _care(line)


def _care(line: CareLine) -> Row:
    parts = (line.cost_minor, line.usual_minor, line.asked_minor, line.owed_minor)
    return (line.words, *(money(minor) for minor in parts))


TITLES = {address.replace("_", "-"): name for address, name, _ in INDEX if address != "journal"}
REPORTS: dict[str, tuple[tuple[str, ...], Callable[[Scope], Iterator[Row]]]] = {
    "roll-forward": (("Fund", "Restricted", "Opening", "In", "Out", "Transfers", "Closing"), _roll),
    "trial-balance": (
        ("Accountant's code", "Account", "Kind", "Opening", "Debits", "Credits", "Debit balance", "Credit balance"),
        _balance,
    ),
    "activity": (("Part", "Line", "Without restrictions", "With restrictions", "Together"), _activity),
    "functional-expenses": (("What it was", *FUNCTIONS, TOGETHER), _functional),
    "journal": (
        (
            "Date", "Entry", "Kind", "Words", "Debit code", "Debit", "Credit code", "Credit", "Fund", "Amount",
        ),
        _journal,
    ),
    "related-party": (("Kind of care", "Cost", "Usual fee", "Asked", "Owed to the practice"), _related),
}  # fmt: skip
