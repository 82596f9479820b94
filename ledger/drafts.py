"""Entries to be: what an action hands to posting, before anything is written."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from config.refusal import Refusal
from ledger.formulas import chain
from ledger.models import (
    Advance,
    BillPayment,
    Charge,
    Closing,
    ClosingBalance,
    Commitment,
    Entry,
    Gift,
    GiftReturn,
    Inflow,
    Posting,
)


class PostingRefused(Refusal):
    """The books were left as they were."""


@dataclass(frozen=True, kw_only=True)
class Leg:
    """One posting to be. `is_own` spends what this very entry brings in; `may_go_short` may leave a shortfall.

    `carries` brings in what the leg before it took, one inflow for each gift and date received, so that the trace
    goes on in another fund. `traced` names the very money it spends or gives back to; without it the oldest unspent
    pays, and what is given back goes to the latest first. `charge` is the line of care it pays for, where the entry
    moves several.
    """

    debit: str
    credit: str
    fund_id: int
    amount_minor: int
    back_of: Posting | None = None
    is_own: bool = False
    may_go_short: bool = False
    carries: bool = False
    traced: tuple[tuple[Inflow, int], ...] = ()
    charge: Charge | None = None


@dataclass(frozen=True, kw_only=True)
class Part:
    """One share to be. `leg` is the place of its posting among the draft's legs, from 1; nobody has none.

    `kept` is what of it was set aside for its animal: commitments, each with its part. `rooted` is the reason of
    the share that it gives back.
    """

    payer: str
    rank: int
    reason: str
    amount_minor: int
    fund_id: int | None = None
    leg: int | None = None
    charge: Charge | None = None
    kept: tuple[tuple[Commitment, int], ...] = ()
    rooted: str = ""


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
    gift_return: GiftReturn | None = None
    advance: Advance | None = None
    bill_payment: BillPayment | None = None
    received_on: date | None = None
    subject: str = ""
    line: str = ""
    note: str = ""
    reverses: Entry | None = None
    closing: Closing | None = None
    balances: tuple[ClosingBalance, ...] = ()

    @property
    def content(self) -> str:
        return chain.digest(self.sent)
