"""How every paper is issued: a number, the drawing outside any transaction, the file, then the row."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from typing import Any, Protocol, TypeVar
from uuid import UUID

from django.db import transaction

from clinic.actions import issued_papers
from clinic.actions.issued_papers import About, Taken
from clinic.models import IssuedPaper, User
from config import uploads


class Paper(Protocol):
    def kept_facts(self) -> dict[str, Any]: ...


P = TypeVar("P", bound=Paper)


def draw_and_issue(
    *,
    key: UUID,
    about: About,
    read: Callable[[Taken], P],
    draw: Callable[[P], bytes],
    by: User,
    today: date,
    at: datetime,
    also: Callable[[IssuedPaper], object] = lambda paper: None,
) -> IssuedPaper:
    """Issue a paper; the same key gives the one that it has issued.

    `read` gives its facts under the number that was taken, `also` is done with it in the same transaction as its row.

    A crash between the steps loses nothing: the same key finds its number again, and the paper is drawn anew.

    :raises PaperRefused: when it may not be issued.
    :raises PaperNotPrinted: when it cannot be drawn; its number waits for the next try with this key.
    """
    with transaction.atomic(durable=True):
        taken = issued_papers.take_number(key=key, about=about, by=by, on=today, at=at)
    if taken.paper is not None:
        return taken.paper
    paper = read(taken)
    kept = uploads.keep_made(draw(paper), uploads.PDF)
    about = replace(about, facts=paper.kept_facts())
    with transaction.atomic(durable=True):
        made = issued_papers.issue(taken=taken, about=about, file=kept, by=by, on=today, at=at)
        also(made)
    return made
