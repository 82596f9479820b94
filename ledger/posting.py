"""The only code that writes the books: many entries under one lock, each traced to the money that pays it.

    PostingRefused
    ├── KeyUsedBefore       the same form was sent before with other content
    ├── PeriodClosed        a book date in a period that is closed
    ├── MoneyMissing        a fund would spend what it does not have
    ├── MoneySpent          an income cannot leave, because it has paid for something already
    ├── ConditionSettled    a conditional gift that is met or sent back was received
    ├── ReversedAlready     an entry is reversed once
    ├── ReversalReversed    a reversal is not itself reversed: post anew
    └── DepositUsed         a partner's deposit cannot leave, because it has settled something

One lock is taken first (the books' row), one read gives the chain's head, one insert is made per table. Rows join
an entry before it; the entry comes last, and the triggers count its legs and follow the chain.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from operator import attrgetter
from uuid import UUID

from django.db import connection, transaction

from config import triggers
from config.days import day_year
from ledger import counting
from ledger.drafts import Draft, Leg, Part, PostingRefused
from ledger.entering import Entering, MoneyMissing, MoneySpent, Rows
from ledger.formulas import chain
from ledger.giving_back import all_back, mirrored, moved_charge
from ledger.models import (
    Advance,
    BillPayment,
    Books,
    Charge,
    Closing,
    ClosingBalance,
    CommitmentMove,
    Entry,
    Gift,
    GiftReturn,
    Inflow,
    Posting,
    Share,
    Shortfall,
    Use,
    Words,
    accounts,
)
from ledger.queries.periods import closed_through
from ledger.queries.sums import balances_at, last_number
from ledger.queries.waiting import Waiting

__all__ = [
    "ConditionSettled",
    "DepositUsed",
    "Draft",
    "KeyUsedBefore",
    "Leg",
    "MoneyMissing",
    "MoneySpent",
    "Part",
    "PeriodClosed",
    "PostingRefused",
    "ReversalReversed",
    "ReversedAlready",
    "already_posted",
    "lock",
    "post",
    "post_all",
    "reverse",
]


class KeyUsedBefore(PostingRefused):
    def __init__(self) -> None:
        super().__init__(
            "This form was sent before with other content, and that is in the books already. "
            "Nothing was changed. Open the page again and write it anew."
        )


class PeriodClosed(PostingRefused):
    field = "received_on"

    def __init__(self, on: date, closed: date) -> None:
        first = closed + timedelta(days=1)
        super().__init__(
            f"{on:%B %Y} is closed, through {closed:%B} {closed.day}, so nothing is dated {on:%B} {on.day} any more. "
            f"Nothing was recorded. Date it {day_year(first)} or later, or reopen the period first, "
            "with your reason."
        )


class ReversedAlready(PostingRefused):
    def __init__(self, number: int) -> None:
        super().__init__(f"Entry {number} is reversed already. Nothing was changed.")


class ConditionSettled(PostingRefused):
    def __init__(self) -> None:
        super().__init__(
            "This conditional gift is met or sent back already, so it was received. Nothing was changed. "
            "Where it was met by mistake, take that entry back first."
        )


class ReversalReversed(PostingRefused):
    def __init__(self, number: int) -> None:
        super().__init__(f"Entry {number} gives something back and is not itself reversed. Post it anew instead.")


class DepositUsed(PostingRefused):
    def __init__(self) -> None:
        super().__init__(
            "This deposit has settled what the partner owed, or went back to it. Nothing was changed. "
            "Take back what it was used for first."
        )


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
def post_all(drafts: Sequence[Draft], *, by: int, at: datetime, known: dict[UUID, Entry] | None = None) -> list[Entry]:
    """Post every draft as one entry each, or none; a draft posted before returns its entry.

    `known` is what `already_posted` has returned for these keys under the same lock, where it was asked.

    :raises KeyUsedBefore: when a key came before with other content.
    :raises PeriodClosed: when a book date is not after the last closed day.
    :raises MoneyMissing: when a fund would spend what it does not have.
    :raises MoneySpent: when income would leave that has been spent.
    :raises GuardsMissing: when the triggers are not all in place.
    """
    if known is None:
        lock()
        known = already_posted({draft.key: draft.sent for draft in drafts})
    last = Entry.objects.order_by("-id").values_list("id", "digest").first() or (0, "")
    rows, waiting, closed = Rows(), Waiting(), closed_through()
    for draft in drafts:
        if draft.key in known:
            if known[draft.key].content != draft.content:
                raise KeyUsedBefore
            continue
        if closed and draft.on <= closed:
            raise PeriodClosed(draft.on, closed)
        number = last[0] + len(rows.entries) + 1
        known[draft.key] = Entering(draft, number=number, rows=rows, waiting=waiting).enter(by=by, at=at)
    _write(rows, last_digest=last[1])
    return [known[draft.key] for draft in drafts]


def reverse(*, entry: Entry, key: UUID, on: date, by: int, at: datetime, why: str) -> Entry:
    """Post the reversal of a whole entry: every leg is given back, and its money goes home.

    The reversal of a charge gives back all that has been posted for it since, whoever took a share over.

    :raises ReversedAlready: when it has been reversed.
    :raises ReversalReversed: when it is itself a reversal, or a gift that went back.
    :raises ConditionSettled: when it received a conditional gift that is met or sent back.
    :raises MoneySpent: when it brought in money that has been spent.
    """
    lock()
    sent = {"reverses": entry.id, "why": why}
    if known := already_posted({key: sent}):
        return known[key]
    if entry.reverses_id or entry.kind == Entry.Kind.RETURN:
        raise ReversalReversed(entry.id)
    if Entry.objects.filter(reverses=entry).exists():
        raise ReversedAlready(entry.id)
    if entry.kind == Entry.Kind.CONDITION:
        _check_condition(entry)
    charge = Charge.objects.filter(entry=entry).first()
    moved = None if charge else moved_charge(entry)
    if moved and Charge.objects.filter(reverses=moved).exists():
        raise ReversedAlready(moved.entry_id)
    legs, parts = all_back(entry, charge)
    _check_deposits(legs)
    words = Words.objects.filter(entry=entry).first() or Words()
    draft = Draft(
        key=key,
        kind=Entry.Kind.CORRECTION if charge else Entry.Kind.REVERSAL,
        on=on,
        sent=sent,
        legs=legs,
        parts=parts,
        charge=mirrored(charge) if charge else None,
        of_charge=moved,
        subject=words.subject,
        line=words.line,
        note=why,
        reverses=entry,
    )
    return post(draft, by=by, at=at)


def _check_deposits(legs: Sequence[Leg]) -> None:
    taken = [leg for leg in legs if leg.debit == accounts.PARTNER_DEPOSITS]
    standing = balances_at(on=date.max, as_of=last_number()) if taken else {}
    for leg in taken:
        if leg.amount_minor > -standing.get((leg.fund_id, accounts.PARTNER_DEPOSITS), 0):
            raise DepositUsed


def _check_condition(entry: Entry) -> None:
    """What settled a conditional gift is taken back before its receipt is; what was sent back stays so."""
    if entry.postings.filter(back_of__isnull=False).exists():
        raise ReversalReversed(entry.id)
    advance = Advance.objects.filter(entry=entry).first()
    met = advance and advance.gifts.filter(entry__reversed_by=None).exists()
    if met or (advance and entry.postings.filter(given_back__isnull=False).exists()):
        raise ConditionSettled


def _write(rows: Rows, *, last_digest: str) -> None:
    for model, made in (
        (Charge, rows.charges),
        (Advance, rows.advances),
        (Gift, rows.gifts),
        (BillPayment, rows.bill_payments),
        (GiftReturn, rows.returns),
        (Posting, rows.postings),
        (Inflow, rows.inflows),
        (Shortfall, rows.shortfalls),
        (Share, rows.shares),
        (Use, rows.uses),
        (CommitmentMove, rows.moves),
        (Words, rows.words),
        (Closing, rows.closings),
        (ClosingBalance, rows.balances),
    ):
        if made:
            model.objects.bulk_create(made)
    _chain(rows, last_digest)
    Entry.objects.bulk_create(rows.entries)
    if rows.shares:
        counting.count(rows.shares, rows.moves)


def _chain(rows: Rows, last_digest: str) -> None:
    parts: dict[int, dict[str, list[Sequence]]] = {entry.id: {} for entry in rows.entries}
    for name, made, facts_of in (
        ("charges", rows.charges, CHARGE),
        ("advances", rows.advances, ADVANCE),
        ("gifts", rows.gifts, GIFT),
        ("bill_payments", rows.bill_payments, BILL_PAYMENT),
        ("returns", rows.returns, RETURN),
        ("postings", rows.postings, POSTING),
        ("inflows", rows.inflows, INFLOW),
        ("shortfalls", rows.shortfalls, SHORTFALL),
        ("shares", rows.shares, SHARE),
        ("uses", rows.uses, USE),
        ("closings", rows.closings, CLOSING),
        ("closing_balances", rows.balances, CLOSING_BALANCE),
    ):
        for row in made:
            later = {column: getattr(row, column) for column in LATER.get(name, ())}
            later = {column: value for column, value in later.items() if value is not None}
            parts[row.entry_id].setdefault(name, []).append([*facts_of(row), later] if later else facts_of(row))
    for entry in rows.entries:
        entry.previous = last_digest
        head = {column: getattr(entry, column) for column in ENTRY}
        entry.digest = last_digest = chain.digest(chain.entry_content(head=head, parts=parts[entry.id]))


# The columns that a digest covers, in the order in which they stand in it (form 1).
ENTRY = ("id", "kind", "on", "recorded_at", "by", "key", "content", "legs", "words_digest", "previous", "reverses_id")
CHARGE = attrgetter(
    "id", "subject_key", "party_key", "plan_key", "kind_id", "traits", "care_on", "is_late", "quantity_thousandths",
    "unit", "cost_minor", "usual_minor", "asked_minor", "goods_minor", "reverses_id", "replaces_id",
)  # fmt: skip
ADVANCE = attrgetter("id", "donor_id", "fund_id", "received_on", "until_on", "amount_minor")
BILL_PAYMENT = attrgetter("id", "charge_id", "amount_minor")
GIFT = attrgetter("id", "donor_id", "way", "received_on", "amount_minor", "fee_minor", "quantity_thousandths", "unit")
RETURN = attrgetter("id", "gift_id", "how", "amount_minor")
POSTING = attrgetter("id", "leg", "on", "debit_id", "credit_id", "fund_id", "amount_minor", "back_of_id", "charge_id")
INFLOW = attrgetter("id", "posting_id", "fund_id", "gift_id", "received_on", "amount_minor")
SHORTFALL = attrgetter("id", "posting_id", "fund_id", "amount_minor")
SHARE = attrgetter("id", "charge_id", "payer", "rank", "fund_id", "reason", "amount_minor", "posting_id")
USE = attrgetter("id", "posting_id", "inflow_id", "shortfall_id", "amount_minor")
CLOSING = attrgetter("id", "through_on", "reopens_id")
CLOSING_BALANCE = attrgetter("id", "fund_id", "account_id", "balance_minor")
# Columns that came later: a row has them in its digest only where they are filled, so that older digests stand.
LATER = {
    "charges": ("owed_to", "time_minor"),
    "gifts": (
        "clause_unseen", "is_anonymous", "fee_from_general", "original_minor", "original_currency", "advance_id",
        "is_recurring",
    ),
}  # fmt: skip
