"""Issues one donor's impact statement."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from uuid import UUID

from clinic.actions.drawn_papers import draw_and_issue
from clinic.actions.issued_papers import About, Taken
from clinic.models import IssuedPaper, User
from clinic.queries.impact_statement import Statement, impact_statement
from clinic.queries.issued_papers import corrected
from clinic.queries.stationery import Stationery
from config import render

TEMPLATE = "clinic/impact_statement/print.html"


def issue_statement(
    *,
    key: UUID,
    donor_id: int,
    donor: str,
    address: str,
    from_on: date,
    to_on: date,
    stationery: Stationery,
    by: User,
    today: date,
    at: datetime,
    form: str = "",
    replaces: IssuedPaper | None = None,
    why: str = "",
    also: Callable[[IssuedPaper], object] = lambda paper: None,
) -> IssuedPaper:
    """Draw and keep a donor's statement, `also` done as it is kept; the same key gives the paper that it has issued.

    :raises PaperRefused: when these days are told by a paper already, or the corrected one has a successor.
    :raises PaperNotPrinted: when it cannot be drawn; its number waits for the next try with this key.
    """
    about = About(
        kind=IssuedPaper.Kind.IMPACT, donor_id=donor_id, from_on=from_on, to_on=to_on, replaces=replaces, why=why
    )

    def read(taken: Taken) -> Statement:
        return impact_statement(
            donor_id=donor_id, donor=donor, address=address, from_on=from_on, to_on=to_on, issued_on=today,
            stationery=stationery, signer=by.name, form=form, number=str(taken.number), corrects=corrected(replaces),
            ids=taken.reader.ids,
        )  # fmt: skip

    return draw_and_issue(key=key, about=about, read=read, draw=drawn, by=by, today=today, at=at, also=also)


def drawn(statement: Statement) -> bytes:
    return render.pdf_bytes(TEMPLATE, statement=statement, paper_size=statement.paper)
