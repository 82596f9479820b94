"""The report to the board as tables for a file: one for each part, with the figures of the page."""

from __future__ import annotations

from clinic.queries import ward_tables
from clinic.queries.board_report import BoardReport
from clinic.queries.cost_report import GivenLine, GroupLine
from config.exports import Sheet
from ledger.queries import report_tables
from ledger.queries.report_tables import TOGETHER
from ledger.queries.report_tables import money as amount


def board_tables(*, report: BoardReport) -> tuple[Sheet, ...]:
    """Return what its pages show, as of the same entry; every sum stands in a row "Together"."""
    return (
        _of_books(report, "Funds", "roll-forward"),
        _of_books(report, "Expenses by function", "functional-expenses"),
        _of_books(report, "Owed to the practice", "related-party"),
        _between(report),
        _given(report),
        _species(report),
        ward_tables.census(report.ward),
        ward_tables.left_to(report.ward),
        _follow_ups(report),
        _paths(report),
        _unpaid(report),
    )


def _of_books(report: BoardReport, title: str, name: str) -> Sheet:
    heads, rows = report_tables.REPORTS[name]
    return Sheet(title=title, heads=heads, rows=tuple(rows(report.scope)))


def _between(report: BoardReport) -> Sheet:
    related = report.related
    rows = (
        ("Due at the beginning", amount(related.due_before_minor)),
        ("Became due", amount(related.together.owed_minor)),
        ("Paid", amount(related.paid_minor)),
        ("Due at the end", amount(related.due_minor)),
    )
    return Sheet(title="Paid to the practice", heads=("Line", "Amount"), rows=rows)


def _given(report: BoardReport) -> Sheet:
    def row(line: GivenLine) -> tuple[object, ...]:
        parts = (line.discount_minor, line.time_minor, line.taken_minor, line.given_minor)
        return (line.words, *(amount(minor) for minor in parts))

    heads = ("Month of care", "Discount", "Unpaid time", "Care taken over", TOGETHER)
    rows = tuple(row(line) for line in (*report.costs.months, report.costs.together))
    return Sheet(title="What the clinic gave", heads=heads, rows=rows)


def _species(report: BoardReport) -> Sheet:
    def row(line: GroupLine) -> tuple[object, ...]:
        parts = (line.cost_minor, line.asked_minor, line.per_animal_minor, line.per_day_minor)
        return (line.words, line.animals, line.days, *(amount(minor) for minor in parts))

    heads = ("Species", "Animals", "Days of care", "Cost", "Asked", "Cost per animal", "Cost per day")
    rows = tuple(row(line) for line in (*report.costs.species, report.costs.all))
    return Sheet(title="What care cost", heads=heads, rows=rows)


def _follow_ups(report: BoardReport) -> Sheet:
    counts = tuple((one.words, one.count) for one in report.follow_ups.counts)
    rows = (*counts, ("asked, " + TOGETHER.lower(), report.follow_ups.asked), ("still open", report.follow_ups.open))
    return Sheet(title="How they did afterwards", heads=("Result", "Follow-ups"), rows=rows)


def _paths(report: BoardReport) -> Sheet:
    heads = ("Animal", "Path", "How it ended", "On", "Expected", "Asked", "Days expected", "Days")
    rows = tuple(
        (
            line.animal, line.name, line.ending, line.ended_on,
            None if line.expected_minor is None else amount(line.expected_minor),
            amount(line.asked_minor), line.expected_days, line.days,
        )
        for line in report.paths
    )  # fmt: skip
    return Sheet(title="Paths that ended", heads=heads, rows=rows)


def _unpaid(report: BoardReport) -> Sheet:
    lines = tuple((line.words, line.animals, amount(line.amount_minor)) for line in report.unpaid)
    together = (TOGETHER, sum(line.animals for line in report.unpaid), amount(report.unpaid_minor))
    return Sheet(title="Care nobody has paid", heads=("Partner", "Animals", "Amount"), rows=(*lines, together))
