"""Issues a partner's statement; a whole month is then billed, and sharing anew bills no more to it (E3)."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from uuid import UUID

from clinic.actions.drawn_papers import draw_and_issue
from clinic.actions.issued_papers import About, Taken
from clinic.models import IssuedPaper, Partner, User
from clinic.queries.issued_papers import corrected
from clinic.queries.partner_statement import PartnerStatement, partner_statement
from clinic.queries.stationery import Stationery
from config import render
from config.days import month_after
from ledger.actions import agreements

TEMPLATE = "clinic/partner_statement/print.html"


def issue_partner_statement(
    *,
    key: UUID,
    partner: Partner,
    from_on: date,
    to_on: date,
    stationery: Stationery,
    by: User,
    today: date,
    at: datetime,
    replaces: IssuedPaper | None = None,
    why: str = "",
    also: Callable[[IssuedPaper], object] = lambda paper: None,
) -> IssuedPaper:
    """Draw and keep a partner's statement, `also` done as it is kept; the same key gives the paper that it has issued.

    :raises PaperRefused: when these days are told by a paper already, or the corrected one has a successor.
    :raises PaperNotPrinted: when it cannot be drawn; its number waits for the next try with this key.
    """
    about = About(
        kind=IssuedPaper.Kind.PARTNER, partner=partner, from_on=from_on, to_on=to_on, replaces=replaces, why=why
    )

    def read(taken: Taken) -> PartnerStatement:
        return partner_statement(
            partner=partner, from_on=from_on, to_on=to_on, issued_on=today, stationery=stationery, signer=by.name,
            number=str(taken.number), corrects=corrected(replaces),
        )  # fmt: skip

    def bill(made: IssuedPaper) -> None:
        for month in whole_months(from_on=from_on, to_on=to_on):
            agreements.bill_month(party_key=partner.key, month=month, on=today, by=by.pk)
        also(made)

    return draw_and_issue(key=key, about=about, read=read, draw=drawn, by=by, today=today, at=at, also=bill)


def drawn(statement: PartnerStatement) -> bytes:
    return render.pdf_bytes(TEMPLATE, statement=statement, paper_size=statement.paper, kind="partner")


def whole_months(*, from_on: date, to_on: date) -> tuple[date, ...]:
    """Return the first days of the months that lie whole between two days.

    >>> [str(month) for month in whole_months(from_on=date(2026, 8, 15), to_on=date(2026, 10, 31))]
    ['2026-09-01', '2026-10-01']
    """
    months, first = [], from_on if from_on.day == 1 else month_after(from_on)
    while (following := month_after(first)) - timedelta(days=1) <= to_on:
        months.append(first)
        first = following
    return tuple(months)
