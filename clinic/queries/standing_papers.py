"""Which paper stands now for one that was issued: itself, what corrected it last, or none."""

from __future__ import annotations

from collections.abc import Iterable

from clinic.models import IssuedPaper


def last_papers(*, ids: Iterable[int], for_files: bool = False) -> dict[int, IssuedPaper]:
    """Return by the id of a paper the last of its corrections, itself where there is none; it may no longer count.

    `for_files` reads with them what decides whether a file is handed out, which a count of papers does without.
    """
    papers = IssuedPaper.objects.select_related("number", "withdrawal", "destruction")
    papers = papers if for_files else papers.defer("facts")
    last = {paper.pk: paper for paper in papers.filter(pk__in=list(ids))}
    firsts = {pk: pk for pk in last}  # a paper's id, by the id of the last one known to take its place
    while later := list(papers.filter(replaces__in=list(firsts))):
        firsts = {paper.pk: firsts[paper.replaces_id] for paper in later}
        last |= {firsts[paper.pk]: paper for paper in later}
    return last


def stands(paper: IssuedPaper) -> bool:
    """Return whether the last of some papers still counts."""
    return getattr(paper, "withdrawal", None) is None
