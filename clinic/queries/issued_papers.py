"""Papers as they were issued: by their number, by their donor and days, the latest of all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import F

from clinic.models import IssuedPaper, Partner
from clinic.queries import photos
from config import home, uploads
from config.days import day_year
from ledger.formulas import chain
from ledger.queries import donor_choices, one_donor, policies

LATEST = 30
ACKNOWLEDGE = (IssuedPaper.Kind.RECEIPT, IssuedPaper.Kind.LETTER)


@dataclass(frozen=True, kw_only=True)
class PaperRow:
    """One paper in a list. `state` is empty while it stands."""

    number: str
    kind_words: str
    whose: str
    from_on: date
    to_on: date
    issued_on: date
    state: str


@dataclass(frozen=True, kw_only=True)
class Destroyed:
    """A paper whose file was destroyed by name, years after its donor's name was erased."""

    number: str
    kind_words: str
    at: datetime
    by: str
    why: str


@dataclass(frozen=True, kw_only=True)
class PaperPage:
    """One issued paper: what it said, in minor units as it stood, and what became of it."""

    id: int
    number: str
    kind: str
    kind_words: str
    whose: str
    donor_id: int | None
    from_on: date
    to_on: date
    issued_on: date
    issued_by: str
    issued_at: datetime
    why: str
    replaces: str
    replaced_by: str
    withdrawn: str
    is_served: bool
    kept_through: date | None  # of a donor whose name was erased: how long its file is kept
    destroyed: Destroyed | None
    photo_is_withdrawn: bool
    form: str
    sums: dict[str, int]
    check_number: str
    size: int

    @property
    def stands(self) -> bool:
        return not self.replaced_by and not self.withdrawn

    def is_past_years(self, today: date) -> bool:
        return self.kept_through is not None and self.kept_through < today and self.destroyed is None


@dataclass(frozen=True, kw_only=True)
class Change:
    words: str
    then_minor: int
    now_minor: int

    @property
    def has_changed(self) -> bool:
        return self.then_minor != self.now_minor


def changes(*, then: dict[str, int], now: dict[str, int]) -> tuple[Change, ...]:
    """Return a paper's sums as issued beside those of today; none where nothing has changed."""
    lines = tuple(Change(words=words, then_minor=minor, now_minor=now.get(words, 0)) for words, minor in then.items())
    return lines if any(line.has_changed for line in lines) else ()


def issued_paper(*, number: str) -> PaperPage | None:
    """Return the paper of this number, or None where none was issued under it."""
    paper = paper_of(number=number)
    return None if paper is None else _page(paper)


def paper_of(*, number: str) -> IssuedPaper | None:
    """Return the row of the paper with this number: 2026-0147."""
    year, _, serial = number.partition("-")
    if not (year.isdecimal() and serial.isdecimal() and len(year) == 4 and len(serial) <= 9 and number.isascii()):
        return None
    return _papers().filter(number__year=int(year), number__serial=int(serial)).first()


def latest() -> tuple[PaperRow, ...]:
    """Return the papers issued last, the newest first."""
    papers = list(_papers().order_by("-id")[:LATEST])
    names = donor_choices.names(ids={paper.donor_id for paper in papers if paper.donor_id})
    return tuple(_row(paper, names) for paper in papers)


def of_donor(*, donor_id: int, from_on: date, to_on: date) -> PaperRow | None:
    """Return the statement that stands for a donor's days, or None where none was issued."""
    paper = standing(donor_id=donor_id, partner=None, from_on=from_on, to_on=to_on)
    return None if paper is None else _row(paper, {})


def standing(*, donor_id: int | None, partner: Partner | None, from_on: date, to_on: date) -> IssuedPaper | None:
    """Return the statement that stands for somebody's days, or None where none was issued.

    Of two that were issued before their donors were merged it is the later one.
    """
    kind = IssuedPaper.Kind.PARTNER if partner else IssuedPaper.Kind.IMPACT
    whose = {"partner": partner} if partner else {"donor_id__in": one_donor.whole(donor_id=donor_id or 0)}
    papers = _papers().filter(**whose, kind=kind, from_on=from_on, to_on=to_on, replaced_by=None)
    return papers.order_by(F("withdrawal").asc(nulls_first=True), "-id").first()


def of_partner(*, partner: Partner, from_on: date, to_on: date) -> PaperRow | None:
    """Return the statement that stands for a partner's days, or None where none was issued."""
    paper = _papers().filter(partner=partner, from_on=from_on, to_on=to_on, replaced_by=None).first()
    return None if paper is None else _row(paper, {})


def all_of_partner(*, partner: Partner) -> tuple[PaperRow, ...]:
    """Return a partner's statements that stand, the newest first."""
    papers = _papers().filter(partner=partner, replaced_by=None, withdrawal=None).order_by("-to_on", "-id")
    return tuple(_row(paper, {}) for paper in papers[:LATEST])


def acknowledgment_of(*, donor_id: int, gift_id: int | None, year: int) -> IssuedPaper | None:
    """Return the last paper that acknowledges a gift, or a donor's year; it may have been canceled since."""
    papers = _papers().filter(gift_id=gift_id, kind__in=ACKNOWLEDGE, replaced_by=None)
    if gift_id is None:
        papers = papers.filter(donor_id=donor_id, from_on=date(year, 1, 1), to_on=date(year, 12, 31))
    return papers.first()


def corrected(paper: IssuedPaper | None) -> str:
    """Return the words by which a corrected paper names the one whose place it takes; none for None."""
    return f"No. {paper.number}, issued {day_year(paper.issued_on)}" if paper else ""


def row_of(paper: IssuedPaper) -> PaperRow:
    return _row(paper, {})


def content(*, paper: IssuedPaper, for_the_books: bool = False) -> bytes | None:
    """Return the bytes as they were issued; None where they are gone, or no longer served.

    The paper of a donor whose name was erased is kept `for_the_books` alone: nobody prints or mails it anew.
    """
    if not _is_served(paper) or not (for_the_books or not one_donor.reader(donor_id=paper.donor_id).is_erased):
        return None
    return uploads.read(sha256=paper.sha256, content_type=uploads.PDF)


def _papers():
    return IssuedPaper.objects.select_related(
        "number", "partner", "issued_by", "replaces__number", "replaced_by__number", "withdrawal", "destruction"
    )


def _row(paper: IssuedPaper, names: dict[int, str]) -> PaperRow:
    return PaperRow(
        number=str(paper.number),
        kind_words=paper.get_kind_display(),
        whose=_whose(paper, names),
        from_on=paper.from_on,
        to_on=paper.to_on,
        issued_on=paper.issued_on,
        state=_state(paper),
    )


def _page(paper: IssuedPaper) -> PaperPage:
    withdrawn = getattr(paper, "withdrawal", None)
    later = getattr(paper, "replaced_by", None)
    return PaperPage(
        id=paper.pk,
        number=str(paper.number),
        kind=paper.kind,
        kind_words=paper.get_kind_display(),
        whose=_whose(paper, donor_choices.names(ids={paper.donor_id} - {None})),
        donor_id=paper.donor_id,
        from_on=paper.from_on,
        to_on=paper.to_on,
        issued_on=paper.issued_on,
        issued_by=home.person(paper.issued_by_id),
        issued_at=paper.issued_at,
        why=paper.why,
        replaces=str(paper.replaces.number) if paper.replaces else "",
        replaced_by=str(later.number) if later else "",
        withdrawn=withdrawn.why if withdrawn else "",
        is_served=_is_served(paper),
        kept_through=kept_through(paper) if one_donor.reader(donor_id=paper.donor_id).is_erased else None,
        destroyed=destroyed(paper),
        photo_is_withdrawn=_photo_is_withdrawn(paper),
        form=str(paper.facts.get("form", "")),
        sums={str(words): int(minor) for words, minor in paper.facts.get("sums", {}).items()},
        check_number=chain.check_number(paper.sha256),
        size=paper.size,
    )


def _whose(paper: IssuedPaper, names: dict[int, str]) -> str:
    if paper.partner:
        return paper.partner.name
    return names.get(paper.donor_id or 0, "")


def _is_served(paper: IssuedPaper) -> bool:
    withdrawn = getattr(paper, "withdrawal", None)
    is_there = getattr(paper, "destruction", None) is None
    return is_there and (withdrawn is None or withdrawn.is_served) and not _photo_is_withdrawn(paper)


def destroyed(paper: IssuedPaper) -> Destroyed | None:
    row = getattr(paper, "destruction", None)
    if row is None:
        return None
    return Destroyed(
        number=str(paper.number),
        kind_words=paper.get_kind_display(),
        at=row.at,
        by=home.person(row.by_id),
        why=row.why,
    )


def kept_through(paper: IssuedPaper) -> date:
    """Return how long a paper is kept after its donor's name was erased."""
    return keeping()(paper.issued_on)


def keeping() -> Callable[[date], date]:
    """Return what tells how long a paper of a day is kept, the policy's rows read once."""
    years = policies.policy_by_day(code="papers_kept")
    return lambda issued_on: date(issued_on.year + int(str(years(issued_on))), 12, 31)


def _photo_is_withdrawn(paper: IssuedPaper) -> bool:
    shown = paper.facts.get("photos", ())
    return bool(shown) and photos.are_withdrawn(photo_ids=shown)


def _state(paper: IssuedPaper) -> str:
    if later := getattr(paper, "replaced_by", None):
        return f"corrected by {later.number}"
    return "no longer counts" if getattr(paper, "withdrawal", None) else ""
