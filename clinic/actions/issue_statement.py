"""Issues one donor's impact statement: a number first, then the drawing outside any transaction, then the paper.

A crash between the steps loses nothing: the same key finds its number again, and the paper is drawn anew.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import issued_papers
from clinic.actions.issued_papers import About
from clinic.models import House, IssuedPaper, User
from clinic.queries.impact_statement import Statement, impact_statement
from config import render, uploads

TEMPLATE = "clinic/impact_statement/print.html"


def issue_statement(
    *,
    key: UUID,
    donor_id: int,
    donor: str,
    address: str,
    from_on: date,
    to_on: date,
    house: House,
    by: User,
    today: date,
    at: datetime,
    form: str = "",
    replaces: IssuedPaper | None = None,
    why: str = "",
) -> IssuedPaper:
    """Draw and keep a donor's statement; the same key gives the paper that it has issued.

    :raises PaperRefused: when these days are told by a paper already, or the corrected one has a successor.
    :raises PaperNotPrinted: when it cannot be drawn; its number waits for the next try with this key.
    """
    about = About(
        kind=IssuedPaper.Kind.IMPACT, donor_id=donor_id, from_on=from_on, to_on=to_on, replaces=replaces, why=why
    )
    if known := issued_papers.issued_by(key=key, about=about):
        return known
    with transaction.atomic(durable=True):
        number = issued_papers.take_number(key=key, about=about, by=by, on=today, at=at)
    statement = impact_statement(
        donor_id=donor_id, donor=donor, address=address, from_on=from_on, to_on=to_on, issued_on=today, house=house,
        signer=by.name, form=form, number=str(number), corrects=corrected(replaces),
    )  # fmt: skip
    kept = uploads.keep_made(drawn(statement), uploads.PDF)
    about = replace(about, facts=statement.kept_facts())
    with transaction.atomic(durable=True):
        return issued_papers.issue(number=number, about=about, file=kept, by=by, on=today, at=at)


def drawn(statement: Statement) -> bytes:
    return render.pdf_bytes(TEMPLATE, statement=statement, paper_size=statement.paper)


def corrected(paper: IssuedPaper | None) -> str:
    """Return the words by which a corrected paper names the one whose place it takes."""
    if paper is None:
        return ""
    return f"No. {paper.number}, issued {paper.issued_on:%B} {paper.issued_on.day}, {paper.issued_on.year}"
