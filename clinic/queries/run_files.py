"""The papers of a run as files: one each under its number, and those that go by post in one for the printer.

A paper that was corrected since is written out as its correction, and one that no longer counts not at all.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from decimal import Decimal
from io import BytesIO
from pathlib import Path

from clinic.models import IssuedPaper, PaperRun, RunItem
from clinic.queries import issued_papers, recipients
from clinic.queries.standing_papers import last_papers, stands
from config import home

MERGED = "all.pdf"


@dataclass(frozen=True, kw_only=True)
class PaperFile:
    number: str
    file: str
    sums: dict[str, str]


@dataclass(frozen=True, kw_only=True)
class NotMade:
    whose: str
    says: str


def write_out(*, run: PaperRun, folder: Path) -> list[PaperFile]:
    """Write each paper of a run as its own file, and those to print as one; the bytes are those that were issued."""
    from pypdf import PdfWriter

    merged, files = PdfWriter(), []
    printed = recipients.printed(run=run)
    for item, paper in _standing(run):
        content = issued_papers.content(paper=paper)
        if content is None:
            continue
        path = folder / f"{paper.number}.pdf"
        path.write_bytes(content)
        if item.pk in printed:
            merged.append(BytesIO(content), import_outline=False)
        files.append(PaperFile(number=str(paper.number), file=str(path), sums=_sums(paper.facts["sums"])))
    if merged.pages:
        merged.write(folder / MERGED)
    return files


def merged(*, run: PaperRun) -> bytes | None:
    """Return the papers of a run that go by post as one PDF, or None while there is none."""
    from pypdf import PdfWriter

    writer = PdfWriter()
    printed = recipients.printed(run=run)
    for item, paper in _standing(run):
        if item.pk in printed and (content := issued_papers.content(paper=paper)):
            writer.append(BytesIO(content), import_outline=False)
    if not writer.pages:
        return None
    written = BytesIO()
    writer.write(written)
    return written.getvalue()


def not_made(*, run: PaperRun) -> list[NotMade]:
    """Return the items that could not be made, each with its sentence; and those that are left out."""
    items = run.items.filter(state=RunItem.State.NOT_MADE).select_related("partner").order_by("place")
    left = [NotMade(whose=_whose(item), says=item.says) for item in items]
    told = [(item, _why_left_out(paper)) for item, paper in _last(run)]
    return left + [NotMade(whose=_whose(item), says=says) for item, says in told if says]


def as_json(files: list[PaperFile], left: list[NotMade]) -> str:
    papers = [{"number": one.number, "file": one.file, "sums": one.sums} for one in files]
    return json.dumps({"papers": papers, "not_made": [vars(one) for one in left]}, ensure_ascii=False, indent=2)


def _standing(run: PaperRun) -> list[tuple[RunItem, IssuedPaper]]:
    return [(item, paper) for item, paper in _last(run) if stands(paper)]


def _last(run: PaperRun) -> list[tuple[RunItem, IssuedPaper]]:
    items = list(recipients.made(run=run))
    papers = last_papers(ids=[item.paper_id for item in items], for_files=True)
    return [(item, papers[item.paper_id]) for item in items]


def _why_left_out(paper: IssuedPaper) -> str:
    if not stands(paper):
        return f"Paper {paper.number} no longer counts."
    if issued_papers.content(paper=paper) is None:
        return f"The file of paper {paper.number} is gone or no longer handed out."
    return ""


def _whose(item: RunItem) -> str:
    return f"partner {item.partner_id}" if item.partner_id else f"donor {item.donor_id}"


def _sums(sums: dict[str, int]) -> dict[str, str]:
    return {words: str(Decimal(minor).scaleb(-home.digits())) for words, minor in sums.items()}
