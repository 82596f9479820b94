"""Papers of erased donors whose years are over: what a manager may destroy, and what was destroyed before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import IssuedPaper, PaperDestruction
from clinic.queries import issued_papers
from clinic.queries.issued_papers import Destroyed
from config import uploads
from ledger.queries import donor_erasures

LATEST = 30


@dataclass(frozen=True, kw_only=True)
class PastYears:
    """A paper whose file is kept and need not be."""

    number: str
    kind_words: str
    whose: str
    issued_on: date
    kept_through: date


def past_years(*, today: date) -> tuple[PastYears, ...]:
    """Return the papers that may be destroyed, the oldest first."""
    erased = donor_erasures.erased()
    papers = IssuedPaper.objects.filter(donor_id__in=erased, destruction=None).select_related("number").order_by("id")
    through_of = issued_papers.keeping()
    kept = [(paper, through_of(paper.issued_on)) for paper in papers]
    return tuple(
        PastYears(
            number=str(paper.number),
            kind_words=paper.get_kind_display(),
            whose=f"donor {paper.donor_id}",
            issued_on=paper.issued_on,
            kept_through=through,
        )
        for paper, through in kept
        if through < today
    )


def destroyed() -> tuple[Destroyed, ...]:
    """Return what was destroyed, the latest first."""
    papers = IssuedPaper.objects.filter(destruction__isnull=False).select_related("number", "destruction")
    return tuple(row for paper in papers.order_by("-destruction")[:LATEST] if (row := issued_papers.destroyed(paper)))


def files_left() -> tuple[str, ...]:
    """Return the digests of destroyed papers whose file is there all the same: somebody was stopped on the way."""
    gone = PaperDestruction.objects.values_list("paper__sha256", flat=True)
    kept = set(IssuedPaper.objects.filter(destruction=None, sha256__in=gone).values_list("sha256", flat=True))
    return tuple(
        sha256 for sha256 in gone if sha256 not in kept and uploads.exists(sha256=sha256, content_type=uploads.PDF)
    )
