"""Turns a draft into the rows of its entry, traced to the money that pays it; nothing is written here.

PostingRefused
├── MoneyMissing   a fund would spend what it does not have
└── MoneySpent     an income cannot leave, because it has paid for something already
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from ledger.drafts import Draft, Leg, Part, PostingRefused
from ledger.formulas import chain
from ledger.models import (
    Advance,
    BillPayment,
    Charge,
    Closing,
    ClosingBalance,
    Commitment,
    CommitmentMove,
    Entry,
    Fund,
    Gift,
    GiftReturn,
    Inflow,
    Posting,
    Share,
    Shortfall,
    Use,
    Words,
)
from ledger.models.accounts import effect
from ledger.queries.waiting import Waiting


class MoneyMissing(PostingRefused):
    def __init__(self) -> None:
        super().__init__("The fund does not have this much money. Nothing was posted. Choose another fund or less.")


class MoneySpent(PostingRefused):
    def __init__(self) -> None:
        super().__init__(
            "This money has paid for something already, so it cannot simply leave. Nothing was posted. "
            "Record on the gift's page that it goes back, or correct what it paid for first."
        )


@dataclass
class Rows:
    """Everything that one batch writes, table by table, in the order of writing."""

    charges: list[Charge] = field(default_factory=list)
    advances: list[Advance] = field(default_factory=list)
    gifts: list[Gift] = field(default_factory=list)
    bill_payments: list[BillPayment] = field(default_factory=list)
    returns: list[GiftReturn] = field(default_factory=list)
    postings: list[Posting] = field(default_factory=list)
    inflows: list[Inflow] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)
    shares: list[Share] = field(default_factory=list)
    uses: list[Use] = field(default_factory=list)
    moves: list[CommitmentMove] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    closings: list[Closing] = field(default_factory=list)
    balances: list[ClosingBalance] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)


def _filled(**facts: object) -> dict[str, Any]:
    """Keep what there is: a row takes nothing for granted where nothing is said, and at less cost."""
    return {name: value for name, value in facts.items() if value is not None}


class Entering:
    """One draft on its way into the rows of a batch."""

    def __init__(self, draft: Draft, *, number: int, rows: Rows, waiting: Waiting) -> None:
        self.draft, self.number, self.rows, self.waiting = draft, number, rows, waiting
        self.own: dict[int, list] = {}
        self.taken: list[tuple[Inflow, int]] = []  # what the last spending leg took

    def enter(self, *, by: int, at: datetime) -> Entry:
        draft, rows = self.draft, self.rows
        for row, kept in (
            (draft.charge, rows.charges),
            (draft.advance, rows.advances),
            (draft.gift, rows.gifts),
            (draft.bill_payment, rows.bill_payments),
            (draft.closing, rows.closings),
            (draft.gift_return, rows.returns),
        ):
            if row is not None:
                row.entry_id = self.number
                kept.append(row)
        for balance in draft.balances:
            balance.entry_id = self.number
        rows.balances += draft.balances
        made = [self._posting(place, leg) for place, leg in enumerate(draft.legs, start=1)]
        for posting, leg in zip(made, draft.legs, strict=True):
            self._trace(posting, leg)
        for brought in self.own.values():
            self._cover(brought)
        rows.shares += [self._share(part, made) for part in draft.parts]
        rows.moves += [self._move(row, minor, made[part.leg - 1]) for part in draft.parts for row, minor in part.kept]
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
            **_filled(reverses=draft.reverses),
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
            **_filled(back_of=leg.back_of, charge=leg.charge or self.draft.charge or self.draft.of_charge),
        )
        self.rows.postings.append(posting)
        return posting

    def _trace(self, posting: Posting, leg: Leg) -> None:
        moves = effect(leg.debit, leg.credit)
        if leg.back_of and moves > 0:
            self._give_back(posting, leg)
        elif leg.back_of and moves < 0:
            self._take_out(posting, leg)
        elif moves > 0 and leg.carries:
            self._carry(posting)
        elif moves > 0:
            self._bring_in(posting, posting.amount_minor, self.draft.received_on or self.draft.on, gift=self.draft.gift)
        elif moves < 0:
            self._spend(posting, leg)

    def _carry(self, posting: Posting) -> None:
        """Bring in what was taken elsewhere, one inflow for each gift and date received."""
        brought: dict[tuple[int | None, date], int] = {}
        for inflow, part in self.taken:
            key = (inflow.gift_id, inflow.received_on)
            brought[key] = brought.get(key, 0) + part
        for (gift_id, received_on), amount_minor in brought.items():
            self._bring_in(posting, amount_minor, received_on, gift_id=gift_id)

    def _bring_in(self, posting: Posting, amount_minor: int, received_on: date, **gift: Gift | int | None) -> None:
        inflow = Inflow(
            entry_id=self.number,
            posting=posting,
            fund_id=posting.fund_id,
            received_on=received_on,
            amount_minor=amount_minor,
            left_minor=amount_minor,
            **gift,
        )
        self.rows.inflows.append(inflow)
        self.own.setdefault(posting.fund_id, []).append(self.waiting.came_in(inflow))

    def _spend(self, posting: Posting, leg: Leg) -> None:
        if leg.traced:
            taken, missing = self.waiting.take_from(leg.traced)
        elif leg.is_own:
            taken, missing = self._take_own(posting)
        else:
            taken, missing = self.waiting.take(posting.fund_id, posting.amount_minor)
        self.taken = taken
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
            if part:
                taken.append((standing.row, part))
        return taken, missing

    def _cover(self, brought: list) -> None:
        """Cover what the fund spent before this money came, the oldest first."""
        for standing in brought:
            if not standing.left:
                continue
            for short in self.waiting.open_shortfalls(standing.row.fund_id):
                part = min(standing.left, short.left)
                if part:
                    standing.left -= part
                    short.left -= part
                    self._use(short.row.posting, [(standing.row, part)], shortfall=short.row)

    def _give_back(self, posting: Posting, leg: Leg) -> None:
        back_of, missing = leg.back_of, posting.amount_minor
        if leg.traced:
            self._use(posting, [(inflow, -part) for inflow, part in self.waiting.give_back_to(leg.traced)])
            return
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
            Use(
                entry_id=self.number,
                posting=posting,
                inflow=inflow,
                amount_minor=amount,
                **_filled(shortfall=shortfall),
            )
            for inflow, amount in taken
        ]

    def _share(self, part: Part, made: list[Posting]) -> Share:
        share = Share(
            entry_id=self.number,
            charge=part.charge or self.draft.charge or self.draft.of_charge,
            payer=part.payer,
            rank=part.rank,
            fund_id=part.fund_id,
            reason=part.reason,
            amount_minor=part.amount_minor,
            posting=made[part.leg - 1] if part.leg else None,
        )
        share.rooted = part.rooted or part.reason
        return share

    def _move(self, commitment: Commitment, amount_minor: int, posting: Posting) -> CommitmentMove:
        return CommitmentMove(entry_id=self.number, commitment=commitment, posting=posting, amount_minor=amount_minor)

    def _words(self) -> str:
        typed = (self.draft.subject, self.draft.line, self.draft.note)
        if not any(typed):
            return ""
        salt = secrets.token_hex(16)
        subject, line, note = typed
        self.rows.words.append(Words(entry_id=self.number, salt=salt, subject=subject, line=line, note=note))
        return chain.words_digest(salt, typed)
