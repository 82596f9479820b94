"""The index of reports: what each one answers, and its way to the periods that people ask for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from ledger.formulas.fiscal_years import words_of

REPORTS = (
    ("roll_forward", "Roll-forward of the funds", "Opening, in, out, transfers and closing of every fund."),
    ("activity", "Activity by class", "Income and expense with and without restrictions, the bank’s money beside it."),
    (
        "functional_expenses",
        "Expenses by function",
        "What was spent by what it was and what it was for: care, management, fundraising.",
    ),
    ("trial_balance", "Trial balance", "Every account with its debits and credits, and whether it all foots."),
    ("journal", "Journal", "Entry by entry, with the accountant’s own codes."),
    ("related_party", "Paid to the practice", "Asked beside cost and usual fee, and who outside approved the prices."),
)


@dataclass(frozen=True, kw_only=True)
class ReportRow:
    """One report; `periods` are words and the part of the address that asks for them."""

    name: str
    words: str
    address: str
    periods: tuple[tuple[str, str], ...]


def report_index(*, periods: Sequence[tuple[date, date]]) -> tuple[ReportRow, ...]:
    """Return every report with its way to this month, the last one, this fiscal year and the one before."""
    month, before, year, last_year = periods
    words = (f"{month[0]:%B}", f"{before[0]:%B}", f"{words_of(*year)} so far", words_of(*last_year))
    asked = tuple((said, f"from_on={first}&to_on={last}") for said, (first, last) in zip(words, periods, strict=True))
    return tuple(
        ReportRow(name=name, words=said, address=reverse(f"ledger:{address}"), periods=asked)
        for address, name, said in REPORTS
    )
