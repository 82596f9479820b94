"""The only code that writes the books: many entries under one lock, each traced to the money that pays it.

    PostingRefused
    ├── KeyUsedBefore       the same form was sent before with other content
    ├── MoneyMissing        a fund would spend what it does not have
    ├── MoneySpent          an income cannot leave, because it has paid for something already
    ├── ReversedAlready     an entry is reversed once
    └── ReversalReversed    a reversal is not itself reversed: post anew

One lock is taken first (the books' row), one read gives the chain's head, one insert is made per table. Rows join
an entry before it; the entry comes last, and the triggers count its legs and follow the chain.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from django.db import connection, transaction
from django.db.models import Sum

from config import triggers
from ledger.formulas import chain
from ledger.models import Books, Charge, Entry, Fund, Gift, Inflow, Posting, Share, Shortfall, Use, Words
from ledger.models.accounts import effect
from ledger.queries.waiting import Waiting


class PostingRefused(Exception):
    """The books were left as they were."""


class KeyUsedBefore(PostingRefused):
    def __init__(self) -> None:
        super().__init__(
            "This form was sent before with other content, and that is in the books already. "
            "Nothing was changed. Open the page again and write it anew."
        )


class MoneyMissing(PostingRefused):
    def __init__(self) -> None:
        super().__init__("The fund does not have this much money. Nothing was posted. Choose another fund or less.")


class MoneySpent(PostingRefused):
    def __init__(self) -> None:
        super().__init__(
            "This money has paid for something already, so it cannot simply leave. Nothing was posted. "
            "Correct what it paid for first."
        )


class ReversedAlready(PostingRefused):
    def __init__(self, number: int) -> None:
        super().__init__(f"Entry {number} is reversed already. Nothing was changed.")


class ReversalReversed(PostingRefused):
    def __init__(self, number: int) -> None:
        super().__init__(f"Entry {number} gives something back and is not itself reversed. Post it anew instead.")


@dataclass(frozen=True, kw_only=True)
class Leg:
    """One posting to be. `is_own` spends what this very entry brings in; `may_go_short` may leave a shortfall."""

    debit: str
    credit: str
    fund_id: int
    amount_minor: int
    back_of: Posting | None = None
    is_own: bool = False
    may_go_short: bool = False


@dataclass(frozen=True, kw_only=True)
class Part:
    """One share to be. `leg` is the place of its posting among the draft's legs, from 1; nobody has none."""

    payer: str
    rank: int
    reason: str
    amount_minor: int
    fund_id: int | None = None
    leg: int | None = None


@dataclass(frozen=True, kw_only=True)
class Draft:
    """One entry to be. `sent` is what the person sent, from which a second sending is known.

    `charge` is a new charge, `of_charge` an earlier one whose shares this entry moves.
    """

    key: UUID
    kind: str
    on: date
    sent: object
    legs: tuple[Leg, ...]
    parts: tuple[Part, ...] = ()
    charge: Charge | None = None
    of_charge: Charge | None = None
    gift: Gift | None = None
    received_on: date | None = None
    subject: str = ""
    line: str = ""
    note: str = ""
    reverses: Entry | None = None

    @property
    def content(self) -> str:
        return chain.digest(self.sent)


@dataclass
class _Rows:
    """Everything that one batch writes, table by table, in the order of writing."""

    charges: list[Charge] = field(default_factory=list)
    gifts: list[Gift] = field(default_factory=list)
    postings: list[Posting] = field(default_factory=list)
    inflows: list[Inflow] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)
    shares: list[Share] = field(default_factory=list)
    uses: list[Use] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)


def lock() -> None:
    """Take the books' lock until the end of the transaction. On SQLite the transaction itself is the lock.

    :raises GuardsMissing: when the triggers are not all in place.
    """
    triggers.require(connection, "ledger")
    if connection.features.has_select_for_update:
        Books.objects.select_for_update().get(id=1)


def already_posted(sent: dict[UUID, object]) -> dict[UUID, Entry]:
    """Return the entries that exist for these keys, each after comparing what was sent.

    :raises KeyUsedBefore: when a key came before with other content.
    """
    found = {entry.key: entry for entry in Entry.objects.filter(key__in=list(sent))}
    for key, entry in found.items():
        if entry.content != chain.digest(sent[key]):
            raise KeyUsedBefore
    return found


def post(draft: Draft, *, by: int, at: datetime) -> Entry:
    """Post one entry: `post_all` with one."""
    return post_all([draft], by=by, at=at)[0]


@transaction.atomic
def post_all(drafts: Sequence[Draft], *, by: int, at: datetime) -> list[Entry]:
    """Post every draft as one entry each, or none; a draft posted before returns its entry.

    :raises KeyUsedBefore: when a key came before with other content.
    :raises MoneyMissing: when a fund would spend what it does not have.
    :raises MoneySpent: when income would leave that has been spent.
    :raises GuardsMissing: when the triggers are not all in place.
    """
    lock()
    known = already_posted({draft.key: draft.sent for draft in drafts})
    last = Entry.objects.order_by("-id").values_list("id", "digest").first() or (0, "")
    rows, waiting = _Rows(), Waiting()
    for draft in drafts:
        if draft.key in known:
            if known[draft.key].content != draft.content:
                raise KeyUsedBefore
            continue
        number = last[0] + len(rows.entries) + 1
        known[draft.key] = _Entering(draft, number=number, rows=rows, waiting=waiting).enter(by=by, at=at)
    _write(rows, last_digest=last[1])
    return [known[draft.key] for draft in drafts]


def reverse(*, entry: Entry, key: UUID, on: date, by: int, at: datetime, why: str) -> Entry:
    """Post the reversal of a whole entry: every leg is given back, and its money goes home.

    The reversal of a charge gives back all that has been posted for it since, whoever took a share over.

    :raises ReversedAlready: when it has been reversed.
    :raises ReversalReversed: when it is itself a reversal.
    :raises MoneySpent: when it brought in money that has been spent.
    """
    lock()
    sent = {"reverses": entry.id, "why": why}
    if known := already_posted({key: sent}):
        return known[key]
    if entry.reverses_id:
        raise ReversalReversed(entry.id)
    if Entry.objects.filter(reverses=entry).exists():
        raise ReversedAlready(entry.id)
    charge = Charge.objects.filter(entry=entry).first()
    if charge and charge.reverses_id:
        raise ReversalReversed(entry.id)
    legs, parts = _all_back(entry, charge)
    words = Words.objects.filter(entry=entry).first() or Words()
    draft = Draft(
        key=key,
        kind=Entry.Kind.CORRECTION if charge else Entry.Kind.REVERSAL,
        on=on,
        sent=sent,
        legs=legs,
        parts=parts,
        charge=_mirrored(charge) if charge else None,
        of_charge=None if charge else _moved_charge(entry),
        subject=words.subject,
        line=words.line,
        note=why,
        reverses=entry,
    )
    return post(draft, by=by, at=at)


def _moved_charge(entry: Entry) -> Charge | None:
    share = entry.shares.select_related("charge").first()
    return share.charge if share else None


def _all_back(entry: Entry, charge: Charge | None) -> tuple[tuple[Leg, ...], tuple[Part, ...]]:
    """Return the legs that give back what stands, money in before money out, and the shares that follow."""
    standing = Posting.objects.filter(back_of=None, **({"charge": charge} if charge else {"entry": entry}))
    postings = list(standing.order_by("id"))
    given = dict(Posting.objects.filter(back_of__in=postings).values_list("back_of").annotate(back=Sum("amount_minor")))
    shares = {share.posting_id: share for share in Share.objects.filter(posting__in=postings)}
    postings.sort(key=lambda posting: (effect(posting.debit_id, posting.credit_id), posting.id))
    legs, parts = [], []
    for posting in postings:
        amount = posting.amount_minor - given.get(posting.id, 0)
        if not amount:
            continue
        legs.append(
            Leg(
                debit=posting.credit_id,
                credit=posting.debit_id,
                fund_id=posting.fund_id,
                amount_minor=amount,
                back_of=posting,
            )
        )
        if share := shares.get(posting.id):
            parts.append(_part_back(share, -amount, len(legs)))
    scope = {"charge": charge} if charge else {"entry": entry}
    unpaid = Share.objects.filter(payer=Share.Payer.NOBODY, **scope)
    total = sum(share.amount_minor for share in unpaid)
    if total:
        parts.append(_part_back(unpaid[0], -total, None))
    return tuple(legs), tuple(parts)


def _part_back(share: Share, amount_minor: int, leg: int | None) -> Part:
    return Part(
        payer=share.payer,
        rank=share.rank,
        reason="given_back",
        amount_minor=amount_minor,
        fund_id=share.fund_id,
        leg=leg,
    )


def _mirrored(charge: Charge) -> Charge:
    return Charge(
        subject_key=charge.subject_key,
        party_key=charge.party_key,
        plan_key=charge.plan_key,
        kind_id=charge.kind_id,
        traits=charge.traits,
        care_on=charge.care_on,
        is_late=charge.is_late,
        unit=charge.unit,
        quantity_thousandths=-charge.quantity_thousandths,
        cost_minor=-charge.cost_minor,
        usual_minor=-charge.usual_minor,
        asked_minor=-charge.asked_minor,
        goods_minor=-charge.goods_minor,
        reverses=charge,
    )


class _Entering:
    """One draft on its way into the rows of a batch."""

    def __init__(self, draft: Draft, *, number: int, rows: _Rows, waiting: Waiting) -> None:
        self.draft, self.number, self.rows, self.waiting = draft, number, rows, waiting
        self.own: dict[int, list] = {}

    def enter(self, *, by: int, at: datetime) -> Entry:
        draft, rows = self.draft, self.rows
        for row, kept in ((draft.charge, rows.charges), (draft.gift, rows.gifts)):
            if row is not None:
                row.entry_id = self.number
                kept.append(row)
        made = [self._posting(place, leg) for place, leg in enumerate(draft.legs, start=1)]
        for posting, leg in zip(made, draft.legs, strict=True):
            self._trace(posting, leg)
        for brought in self.own.values():
            self._cover(brought)
        rows.shares += [self._share(part, made) for part in draft.parts]
        entry = Entry(
            id=self.number,
            kind=draft.kind,
            on=draft.on,
            recorded_at=at,
            by=by,
            key=draft.key,
            content=draft.content,
            form=chain.FORM,
            legs=len(made),
            words_digest=self._words(),
            reverses=draft.reverses,
        )
        rows.entries.append(entry)
        return entry

    def _posting(self, place: int, leg: Leg) -> Posting:
        posting = Posting(
            entry_id=self.number,
            leg=place,
            on=self.draft.on,
            debit_id=leg.debit,
            credit_id=leg.credit,
            fund_id=leg.fund_id,
            amount_minor=leg.amount_minor,
            back_of=leg.back_of,
            charge=self.draft.charge or self.draft.of_charge,
        )
        self.rows.postings.append(posting)
        return posting

    def _trace(self, posting: Posting, leg: Leg) -> None:
        moves = effect(leg.debit, leg.credit)
        if leg.back_of and moves > 0:
            self._give_back(posting, leg)
        elif leg.back_of and moves < 0:
            self._take_out(posting, leg)
        elif moves > 0:
            self._bring_in(posting)
        elif moves < 0:
            self._spend(posting, leg)

    def _bring_in(self, posting: Posting) -> None:
        inflow = Inflow(
            entry_id=self.number,
            posting=posting,
            fund_id=posting.fund_id,
            gift=self.draft.gift,
            received_on=self.draft.received_on or self.draft.on,
            amount_minor=posting.amount_minor,
            left_minor=posting.amount_minor,
        )
        self.rows.inflows.append(inflow)
        self.own.setdefault(posting.fund_id, []).append(self.waiting.came_in(inflow))

    def _spend(self, posting: Posting, leg: Leg) -> None:
        if leg.is_own:
            taken, missing = self._take_own(posting)
        else:
            taken, missing = self.waiting.take(posting.fund_id, posting.amount_minor)
        self._use(posting, taken)
        if missing and not (leg.may_go_short and not Fund.objects.get(id=posting.fund_id).is_restricted):
            raise MoneyMissing
        if missing:
            shortfall = Shortfall(
                entry_id=self.number,
                posting=posting,
                fund_id=posting.fund_id,
                amount_minor=missing,
                left_minor=missing,
            )
            self.rows.shortfalls.append(shortfall)
            self.waiting.went_short(shortfall)

    def _take_own(self, posting: Posting) -> tuple[list[tuple[Inflow, int]], int]:
        taken, missing = [], posting.amount_minor
        for standing in self.own.get(posting.fund_id, ()):
            part = min(standing.left, missing)
            standing.left -= part
            missing -= part
            taken.append((standing.row, part))
        return taken, missing

    def _cover(self, brought: list) -> None:
        """Cover what the fund spent before this money came, the oldest first."""
        for standing in brought:
            for short in self.waiting.open_shortfalls(standing.row.fund_id):
                part = min(standing.left, short.left)
                if part:
                    standing.left -= part
                    short.left -= part
                    self._use(short.row.posting, [(standing.row, part)], shortfall=short.row)

    def _give_back(self, posting: Posting, leg: Leg) -> None:
        back_of, missing = leg.back_of, posting.amount_minor
        for short in self.waiting.open_shortfalls(posting.fund_id):
            if short.row.posting_id == back_of.id:
                part = min(short.left, missing)
                short.left -= part
                missing -= part
                self.rows.uses.append(
                    Use(entry_id=self.number, posting=posting, shortfall=short.row, amount_minor=-part)
                )
        if missing:
            back = self.waiting.give_back(back_of, missing)
            self._use(posting, [(inflow, -part) for inflow, part in back])

    def _take_out(self, posting: Posting, leg: Leg) -> None:
        missing = posting.amount_minor
        for standing in self.waiting.brought_by(leg.back_of):
            part = min(standing.left, missing)
            if part:
                standing.left -= part
                missing -= part
                self._use(posting, [(standing.row, part)])
        if missing:
            raise MoneySpent

    def _use(self, posting: Posting, taken: Iterable[tuple[Inflow, int]], shortfall: Shortfall | None = None) -> None:
        self.rows.uses += [
            Use(entry_id=self.number, posting=posting, inflow=inflow, shortfall=shortfall, amount_minor=amount)
            for inflow, amount in taken
        ]

    def _share(self, part: Part, made: list[Posting]) -> Share:
        return Share(
            entry_id=self.number,
            charge=self.draft.charge or self.draft.of_charge,
            payer=part.payer,
            rank=part.rank,
            fund_id=part.fund_id,
            reason=part.reason,
            amount_minor=part.amount_minor,
            posting=made[part.leg - 1] if part.leg else None,
        )

    def _words(self) -> str:
        typed = (self.draft.subject, self.draft.line, self.draft.note)
        if not any(typed):
            return ""
        salt = secrets.token_hex(16)
        subject, line, note = typed
        self.rows.words.append(Words(entry_id=self.number, salt=salt, subject=subject, line=line, note=note))
        return chain.words_digest(salt, typed)


def _write(rows: _Rows, *, last_digest: str) -> None:
    for model, made in (
        (Charge, rows.charges),
        (Gift, rows.gifts),
        (Posting, rows.postings),
        (Inflow, rows.inflows),
        (Shortfall, rows.shortfalls),
        (Share, rows.shares),
        (Use, rows.uses),
        (Words, rows.words),
    ):
        if made:
            model.objects.bulk_create(made)
    _chain(rows, last_digest)
    Entry.objects.bulk_create(rows.entries)


def _chain(rows: _Rows, last_digest: str) -> None:
    parts: dict[int, dict[str, list]] = {entry.id: {} for entry in rows.entries}
    for name, made, columns in (
        ("charges", rows.charges, CHARGE),
        ("gifts", rows.gifts, GIFT),
        ("postings", rows.postings, POSTING),
        ("inflows", rows.inflows, INFLOW),
        ("shortfalls", rows.shortfalls, SHORTFALL),
        ("shares", rows.shares, SHARE),
        ("uses", rows.uses, USE),
    ):
        for row in made:
            parts[row.entry_id].setdefault(name, []).append([getattr(row, column) for column in columns])
    for entry in rows.entries:
        entry.previous = last_digest
        head = {column: getattr(entry, column) for column in ENTRY}
        entry.digest = last_digest = chain.digest(chain.entry_content(head=head, parts=parts[entry.id]))


# The columns that a digest covers, in the order in which they stand in it (form 1).
ENTRY = ("id", "kind", "on", "recorded_at", "by", "key", "content", "legs", "words_digest", "previous", "reverses_id")
CHARGE = (
    "id", "subject_key", "party_key", "plan_key", "kind_id", "traits", "care_on", "is_late", "quantity_thousandths",
    "unit", "cost_minor", "usual_minor", "asked_minor", "goods_minor", "reverses_id", "replaces_id",
)  # fmt: skip
GIFT = ("id", "donor_id", "way", "received_on", "amount_minor", "fee_minor", "quantity_thousandths", "unit")
POSTING = ("id", "leg", "on", "debit_id", "credit_id", "fund_id", "amount_minor", "back_of_id", "charge_id")
INFLOW = ("id", "posting_id", "fund_id", "gift_id", "received_on", "amount_minor")
SHORTFALL = ("id", "posting_id", "fund_id", "amount_minor")
SHARE = ("id", "charge_id", "payer", "rank", "fund_id", "reason", "amount_minor", "posting_id")
USE = ("id", "posting_id", "inflow_id", "shortfall_id", "amount_minor")
