"""Issues papers: takes a number, keeps what was drawn under it, corrects by a paper that names the first, withdraws.

Refusal
└── PaperRefused
    ├── IssuedBefore     these days are told by a paper already: print that one again, or issue a corrected one
    ├── ReceiptedBefore  a gift among them has a receipt or letter that stands: no gift has two (I4)
    ├── NotTheLast       the paper to correct has a corrected one already
    ├── SentOtherwise    the same form, sent before for another paper
    ├── NameErased       nobody is named any more whom a paper could thank
    ├── ReadByOthers     two donors became one, or two again, while the paper was drawn
    └── WithdrawnBefore  it no longer counts since somebody said so
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import connection, transaction
from django.db.models import Max, QuerySet

from clinic.models import House, IssuedPaper, PaperNumber, PaperWithdrawal, Partner, User
from config.refusal import Refusal
from config.uploads import KeptFile
from ledger.queries import one_donor
from ledger.queries.one_donor import Reader

ACKNOWLEDGES = (IssuedPaper.Kind.RECEIPT, IssuedPaper.Kind.LETTER)


class PaperRefused(Refusal):
    """No paper was issued, and none was changed."""


class IssuedBefore(PaperRefused):
    def __init__(self, number: object) -> None:
        super().__init__(
            f"Paper {number} tells of these days already. Nothing was issued. Print that one again; "
            "if its figures have changed, issue a corrected one from its page."
        )


class ReceiptedBefore(PaperRefused):
    def __init__(self, number: object) -> None:
        super().__init__(
            f"Paper {number} acknowledges this gift already, and no gift has two. Nothing was issued. "
            "Issue a corrected one from its page."
        )


class NotTheLast(PaperRefused):
    def __init__(self, number: object) -> None:
        super().__init__(f"Paper {number} has taken its place already. Nothing was issued. Correct that one.")


class SentOtherwise(PaperRefused):
    def __init__(self) -> None:
        super().__init__(
            "This form was sent before for another paper. Nothing was issued. Open the page again and send it anew."
        )


class NameErased(PaperRefused):
    def __init__(self) -> None:
        super().__init__(
            "This donor’s name was erased, so no paper can be made out to them. Nothing was issued. What was issued "
            "before is kept."
        )


class ReadByOthers(PaperRefused):
    def __init__(self) -> None:
        super().__init__(
            "While this paper was drawn, two donors were merged or a merge was undone, so its figures are no longer "
            "this donor’s. Nothing was issued. Try it again."
        )


class WithdrawnBefore(PaperRefused):
    def __init__(self, number: object) -> None:
        super().__init__(f"Paper {number} no longer counts already. Nothing was changed.")


@dataclass(frozen=True, kw_only=True)
class About:
    """Which paper it is: its kind, for whom, of which days, and the paper whose place it takes."""

    kind: str
    from_on: date
    to_on: date
    donor_id: int | None = None
    gift_id: int | None = None
    partner: Partner | None = None
    replaces: IssuedPaper | None = None
    why: str = ""
    facts: dict[str, Any] = field(default_factory=dict, compare=False)

    @property
    def once(self) -> str:
        if self.gift_id is not None:
            return f"gift {self.gift_id}"
        whose = f"donor {self.donor_id}" if self.partner is None else f"partner {self.partner.pk}"
        kind = "acknowledgment" if self.kind in ACKNOWLEDGES else self.kind
        return f"{kind} {whose} {self.from_on} {self.to_on}"

    def of_each(self, ids: Iterable[int]) -> list[str]:
        """The same for each donor who is read as this one: one statement tells of their days."""
        return [replace(self, donor_id=number).once for number in ids]


@dataclass(frozen=True, kw_only=True)
class Taken:
    """A number for a paper, who reads it when the number is taken, and the paper where one has that number already."""

    number: PaperNumber
    reader: Reader
    paper: IssuedPaper | None = None


@transaction.atomic
def take_number(*, key: UUID, about: About, by: User, on: date, at: datetime) -> Taken:
    """Take the next number of the year for a paper that may be issued; the same key keeps its number, and its paper.

    :raises PaperRefused: when the paper may not be issued.
    """
    _one_at_a_time()
    number = PaperNumber.objects.select_related("paper").filter(key=key).first()
    reader = one_donor.reader(donor_id=about.donor_id)
    if number and (known := _issued_under(number, about)):
        return Taken(number=number, reader=reader, paper=known)
    _may_be_issued(about, reader, key)
    if number is None:
        last = PaperNumber.objects.filter(year=on.year).aggregate(last=Max("serial"))["last"] or 0
        number = PaperNumber.objects.create(key=key, year=on.year, serial=last + 1, taken_by=by, taken_at=at)
    return Taken(number=number, reader=reader)


@transaction.atomic
def issue(*, taken: Taken, about: About, file: KeptFile, by: User, on: date, at: datetime) -> IssuedPaper:
    """Keep a paper as it was drawn; the same number issued again is the same paper.

    :raises PaperRefused: when it may not be issued, or the number carries another paper.
    """
    _one_at_a_time()
    if known := _issued_under(PaperNumber.objects.select_related("paper").get(pk=taken.number.pk), about):
        return known
    reader = one_donor.reader(donor_id=about.donor_id)
    _may_be_issued(about, reader, taken.number.key)
    if reader.ids != taken.reader.ids:
        raise ReadByOthers
    made = IssuedPaper.objects.create(
        number=taken.number,
        kind=about.kind,
        donor_id=about.donor_id,
        gift_id=about.gift_id,
        partner=about.partner,
        from_on=about.from_on,
        to_on=about.to_on,
        once=None if about.replaces else about.once,
        replaces=about.replaces,
        why=about.why,
        facts=about.facts,
        sha256=file.sha256,
        size=file.size,
        issued_on=on,
        issued_by=by,
        issued_at=at,
    )
    if made.kind == IssuedPaper.Kind.IMPACT and reader.is_merged:
        _told_by(made, reader, by=by, at=at)
    return made


def _told_by(made: IssuedPaper, reader: Reader, *, by: User, at: datetime) -> None:
    """Statements of donors who were merged since, for the same days, no longer count: this one tells of both."""
    days = {"from_on": made.from_on, "to_on": made.to_on}
    papers = IssuedPaper.objects.filter(kind=made.kind, donor_id__in=reader.ids, **days)
    others = papers.filter(replaced_by=None, withdrawal=None)
    why = f"No. {made.number} tells of these days for both donors, since they are one."
    for paper in others.exclude(pk=made.pk):
        withdraw(paper=paper, why=why, is_served=True, by=by, at=at)


def _issued_under(number: PaperNumber, about: About) -> IssuedPaper | None:
    """Return the paper that was issued under a number, None where none was yet.

    :raises SentOtherwise: when that is another paper.
    """
    known: IssuedPaper | None = getattr(number, "paper", None)
    if known is None:
        return None
    of_known = (known.kind, known.donor_id, known.gift_id, known.partner_id, known.from_on, known.to_on)
    partner_id = about.partner.pk if about.partner else None
    if of_known != (about.kind, about.donor_id, about.gift_id, partner_id, about.from_on, about.to_on):
        raise SentOtherwise
    return known


@transaction.atomic
def withdraw(*, paper: IssuedPaper, why: str, is_served: bool, by: User, at: datetime) -> PaperWithdrawal:
    """Record that a paper no longer counts; its file is kept, and handed out only where `is_served`.

    :raises WithdrawnBefore: when that was recorded before.
    """
    _one_at_a_time()
    if PaperWithdrawal.objects.filter(paper=paper).exists():
        raise WithdrawnBefore(paper.number)
    return PaperWithdrawal.objects.create(paper=paper, why=why, is_served=is_served, by=by, at=at)


def _one_at_a_time() -> None:
    """Hold the row of the house until the end of the transaction: nobody else takes a number or issues a paper.

    On SQLite the transaction itself lets nobody else write.
    """
    if connection.features.has_select_for_update:
        House.objects.select_for_update().values_list("pk").get()


def _may_be_issued(about: About, reader: Reader, key: UUID) -> None:
    papers = IssuedPaper.objects.select_related("number").exclude(number__key=key)
    if reader.is_erased:
        raise NameErased
    if about.replaces is None:
        once = about.of_each(reader.ids) if about.kind == IssuedPaper.Kind.IMPACT else [about.once]
        if stands := papers.filter(once__in=once).order_by("-id").first():
            raise IssuedBefore(stands.number)
    elif later := papers.filter(replaces=about.replaces).first():
        raise NotTheLast(later.number)
    if about.kind in ACKNOWLEDGES:
        _acknowledged_once(about, papers)


def _acknowledged_once(about: About, papers: QuerySet[IssuedPaper]) -> None:
    """No gift has two live receipts, singly or among those of a year (I4)."""
    gifts = {about.gift_id} - {None} | set(about.facts.get("gifts", ()))
    kin = one_donor.kin(donor_id=about.donor_id or 0)
    live = papers.filter(donor_id__in=kin, kind__in=ACKNOWLEDGES, replaced_by=None, withdrawal=None)
    for paper in live.exclude(pk=about.replaces.pk if about.replaces else None):
        if gifts & set(paper.facts["gifts"]):
            raise ReceiptedBefore(paper.number)
