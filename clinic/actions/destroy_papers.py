"""Destroys the files of papers whose donor was erased and whose years are over; number, facts and SHA-256 stay.

First the list that outlives every copy, then one transaction, then the files; each step may be done again. Nothing is
destroyed on its own: a manager does it, by name and with a reason.

Refusal
└── NothingDestroyed
    ├── NothingChosen   no paper was named
    ├── YearsNotOver    one of them is still kept, or its donor has a name
    └── WhyMissing      who destroys says why
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime

from django.db import transaction

from clinic.models import House, IssuedPaper, PaperDestruction, User
from clinic.queries import issued_papers
from clinic.queries.papers_past_years import files_left, past_years
from config import clock, uploads
from config.backups import outliving
from config.backups.outliving import Erased
from config.refusal import Refusal


class NothingDestroyed(Refusal):
    """Every file is kept as it was."""


class NothingChosen(NothingDestroyed):
    field = "numbers"

    def __init__(self) -> None:
        super().__init__("No paper was chosen. Nothing was destroyed.")


class YearsNotOver(NothingDestroyed):
    field = "numbers"

    def __init__(self, number: str) -> None:
        super().__init__(
            f"The years of No. {number} are not over, or its donor’s name was not erased, or it is destroyed already. "
            "Nothing was destroyed."
        )


class WhyMissing(NothingDestroyed):
    field = "why"

    def __init__(self) -> None:
        super().__init__("Write in a few words why, without a name. Nothing was destroyed.")


def destroy_papers(*, numbers: Collection[str], why: str, by: User, today: date, at: datetime) -> int:
    """Destroy the files of these papers; return how many.

    :raises NothingDestroyed: when one of them may not be, or nobody says why.
    """
    papers = _chosen(numbers, why, today)
    lines = [Erased(key=str(paper.number.key), on=today.isoformat(), by=by.pk, why=why.strip()) for paper in papers]
    outliving.write_down(lines, name=outliving.DESTROYED)
    try:
        with transaction.atomic(durable=True):
            House.objects.select_for_update().get()
            _chosen(numbers, why, today)
            _write(papers, why=why.strip(), by=by, at=at)
    except Exception:
        outliving.strike(lines, name=outliving.DESTROYED)
        raise
    remove_files()
    return len(papers)


def remove_files() -> None:
    """Take away every file of a destroyed paper that is still there."""
    for sha256 in files_left():
        uploads.remove(sha256=sha256, content_type=uploads.PDF)


def destroy_again(*, lines: list[Erased]) -> int:
    """Destroy in a copy that was put back what was destroyed before; return how many."""
    by_key = {line.key: line for line in lines}
    papers = IssuedPaper.objects.filter(number__key__in=by_key, destruction=None).select_related("number")
    with transaction.atomic(durable=True):
        for paper in papers:
            line = by_key[str(paper.number.key)]
            _write([paper], why=line.why, by=User.objects.get(pk=line.by), at=clock.now())
    remove_files()
    return len(papers)


def _chosen(numbers: Collection[str], why: str, today: date) -> list[IssuedPaper]:
    due = {paper.number for paper in past_years(today=today)}
    if not numbers:
        raise NothingChosen
    if other := next((number for number in numbers if number not in due), None):
        raise YearsNotOver(other)
    if not why.strip():
        raise WhyMissing
    return [paper for number in numbers if (paper := issued_papers.paper_of(number=number))]


def _write(papers: Collection[IssuedPaper], *, why: str, by: User, at: datetime) -> None:
    PaperDestruction.objects.bulk_create(PaperDestruction(paper=paper, why=why, by=by, at=at) for paper in papers)
