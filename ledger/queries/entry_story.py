"""One entry told whole: what happened, its postings, whose money paid, what it corrects and what corrects it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import F

from config import home
from ledger.models import Charge, Entry, Posting, Share, Use, Words
from ledger.models.accounts import NAME_OF
from ledger.queries import one_donor
from ledger.queries.charges import PayerLine, payer_line
from ledger.queries.reasons import reason_words

# What people type themselves and may take back while its money has paid for nothing.
TYPED = (
    Entry.Kind.GIFT,
    Entry.Kind.GOODS,
    Entry.Kind.OPENING,
    Entry.Kind.PAST,
    Entry.Kind.PAYOUT,
    Entry.Kind.TRANSFER,
    Entry.Kind.INCOME,
    Entry.Kind.SPENDING,
    Entry.Kind.PAID,
    Entry.Kind.BILL_PAID,
    Entry.Kind.PARTNER_PAID,
    Entry.Kind.DEPOSIT,
    Entry.Kind.DEBT,
    Entry.Kind.CONDITION,
)


@dataclass(frozen=True, kw_only=True)
class PostingLine:
    leg: int
    debit: str
    credit: str
    debit_words: str
    credit_words: str
    fund_id: int
    fund_name: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class StoryShare:
    payer: PayerLine
    reason: str
    line_words: str  # which line of care, where the entry moves several
    line_number: int | None


@dataclass(frozen=True, kw_only=True)
class UsedLine:
    """Money that this entry took from (or gave back to) one inflow; `gift_id` is None for other income."""

    fund_name: str
    gift_id: int | None
    donor_id: int | None
    donor_name: str
    received_on: date
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class StoryStep:
    """An entry of the same story: the line itself, a share taken over, its correction, the line in its place."""

    entry_number: int
    kind_words: str
    on: date
    note: str
    is_here: bool


@dataclass(frozen=True, kw_only=True)
class EntryStory:
    number: int
    kind: str
    kind_words: str
    on: date
    recorded_at: datetime
    by: int
    by_words: str
    subject_words: str
    line_words: str
    note: str
    digest: str
    postings: tuple[PostingLine, ...]
    shares: tuple[StoryShare, ...]
    used: tuple[UsedLine, ...]
    steps: tuple[StoryStep, ...]
    charge_id: int | None
    subject_key: str
    care_on: date | None
    cost_minor: int | None
    usual_minor: int | None
    asked_minor: int | None
    gift_id: int | None
    is_reversed: bool

    @property
    def may_be_taken_back(self) -> bool:
        return self.kind in TYPED and not self.is_reversed

    @property
    def check_number(self) -> str:
        """The beginning of the digest, in groups that can be read out."""
        return " ".join(self.digest[at : at + 4] for at in range(0, 16, 4))


def entry_story(*, number: int) -> EntryStory | None:
    """Return the story of an entry, or None where there is none of this number."""
    entry = Entry.objects.filter(id=number).select_related("words", "charge", "gift", "reversed_by").first()
    if entry is None:
        return None
    words = getattr(entry, "words", None) or Words()
    own = getattr(entry, "charge", None)
    moved = Share.objects.filter(entry=entry).select_related("charge").first()
    charge = own or (moved.charge if moved else None)
    return EntryStory(
        number=entry.id,
        kind=entry.kind,
        kind_words=Entry.Kind(entry.kind).label,
        on=entry.on,
        recorded_at=entry.recorded_at,
        by=entry.by,
        by_words=home.person(entry.by),
        subject_words=words.subject,
        line_words=words.line,
        note=words.note,
        digest=entry.digest,
        postings=tuple(_postings(entry)),
        shares=tuple(_shares(entry)),
        used=tuple(_used(entry)),
        steps=tuple(story_steps(entry, charge)),
        charge_id=charge.id if charge else None,
        subject_key=charge.subject_key if charge else "",
        care_on=charge.care_on if charge else None,
        cost_minor=own.cost_minor if own else None,
        usual_minor=own.usual_minor if own else None,
        asked_minor=own.asked_minor if own else None,
        gift_id=entry.gift.id if hasattr(entry, "gift") else None,
        is_reversed=hasattr(entry, "reversed_by"),
    )


def _postings(entry: Entry):
    for row in Posting.objects.filter(entry=entry).order_by("leg").select_related("fund"):
        yield PostingLine(
            leg=row.leg,
            debit=row.debit_id,
            credit=row.credit_id,
            debit_words=NAME_OF[row.debit_id],
            credit_words=NAME_OF[row.credit_id],
            fund_id=row.fund_id,
            fund_name=row.fund.name,
            amount_minor=row.amount_minor,
        )


def _shares(entry: Entry):
    several = entry.kind == Entry.Kind.RETURN
    rows = Share.objects.filter(entry=entry).order_by(*(["charge__care_on", "charge"] if several else []), "id")
    for row in rows.values(
        "payer",
        "fund_id",
        "amount_minor",
        "reason",
        name=F("fund__name"),
        kind=F("fund__kind"),
        number=F("charge__entry"),
        subject=F("charge__entry__words__subject"),
        line=F("charge__entry__words__line"),
    ):
        yield StoryShare(
            payer=payer_line(row, row["amount_minor"]),
            reason=reason_words(row["reason"]),
            line_words=f"{row['subject'] or ''}: {row['line'] or ''}" if several else "",
            line_number=row["number"] if several else None,
        )


def _used(entry: Entry):
    uses = Use.objects.filter(entry=entry, inflow__isnull=False).order_by("id")
    for row in uses.values(
        "amount_minor",
        fund=F("inflow__fund__name"),
        gift=F("inflow__gift"),
        donor=one_donor.standing("inflow__gift__donor"),
        donor_name=one_donor.told("inflow__gift__donor"),
        received=F("inflow__received_on"),
    ):
        yield UsedLine(
            fund_name=row["fund"],
            gift_id=row["gift"],
            donor_id=row["donor"],
            donor_name=row["donor_name"] or "",
            received_on=row["received"],
            amount_minor=row["amount_minor"],
        )


def story_steps(entry: Entry, charge: Charge | None):
    """Every entry of the story in order; a line that was corrected leads to the line in its place."""
    if charge is None:
        numbers = {entry.id, entry.reverses_id or 0, *Entry.objects.filter(reverses=entry).values_list("id", flat=True)}
    else:
        family = _family(charge)
        numbers = {
            *Share.objects.filter(charge__in=family).values_list("entry", flat=True),
            *Charge.objects.filter(id__in=family).values_list("entry", flat=True),
        }
    related = Entry.objects.filter(id__in=numbers).order_by("id")
    rows = list(related.values("id", "kind", "on", note=F("words__note")))
    if len(rows) < 2:
        return
    for row in rows:
        yield StoryStep(
            entry_number=row["id"],
            kind_words=Entry.Kind(row["kind"]).label,
            on=row["on"],
            note=row["note"] or "",
            is_here=row["id"] == entry.id,
        )


def _family(charge: Charge) -> list[int]:
    first = charge.reverses or charge
    while first.replaces_id:
        first = first.replaces
    family = []
    following: Charge | None = first
    while following is not None:
        family.append(following.id)
        back = getattr(following, "reversed_by", None)
        family += [back.id] if back else []
        following = getattr(following, "replaced_by", None)
    return family
