"""A fund's report as tables for a file: its account, its budget and the animals that it helped."""

from __future__ import annotations

from clinic.queries.grant_report import GrantReport
from config.exports import Sheet
from ledger.queries.fund_roll import RollLine
from ledger.queries.report_tables import TOGETHER
from ledger.queries.report_tables import money as amount


def grant_tables(*, report: GrantReport) -> tuple[Sheet, ...]:
    """Return what its pages show: opening balance + what came in - what went out +/- transfers = closing balance."""

    def rolled(line: RollLine) -> tuple[object, ...]:
        return (line.words, *(amount(minor) for minor in line.amounts))

    roll, budget = report.roll, report.budget
    account = (roll.opening, *roll.income, *roll.expense, roll.transfers, roll.closing)
    planned = tuple(
        (line.words, line.from_on, line.until_on, *map(amount, (line.amount_minor, line.spent_minor, line.left_minor)))
        for line in budget.lines
    )
    sums = (TOGETHER, None, None, *map(amount, (budget.amount_minor, budget.spent_minor, budget.left_minor)))
    helped = tuple(
        (one.helped.name, one.helped.species, one.helped.now, one.helped.days, amount(one.helped.paid_minor))
        for one in report.animals
    )
    animals = (TOGETHER, None, None, sum(one.helped.days for one in report.animals), amount(report.care_minor))
    return (
        Sheet(title="The fund’s account", heads=("Line", *roll.heads), rows=tuple(rolled(line) for line in account)),
        Sheet(title="Budget", heads=("Line", "From", "Until", "Budget", "Spent", "Left"), rows=(*planned, sums)),
        Sheet(
            title="Whom it helped",
            heads=("Animal", "Species", "How it is now", "Days of care", "From this fund"),
            rows=(*helped, animals),
        ),
    )
