"""Up to a day: what the bank had, what the books had, what explains the difference, and whether they agree."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Sum

from config import home
from ledger.models import BankLine, BankMatchEntry, BankMatchLine, BankReconciliation, BankStatement, Entry
from ledger.models.accounts import BANK
from ledger.queries import bank
from ledger.queries.bank_open import BankEntry, OpenLine, moved_by, open_entries, open_lines
from ledger.queries.sums import balances_at, last_number


@dataclass(frozen=True, kw_only=True)
class AccountAt:
    name: str
    closing_minor: int
    reaches_to: date


@dataclass(frozen=True, kw_only=True)
class Signed:
    """What somebody signed."""

    reconciliation_id: int
    on: date
    bank_minor: int
    books_minor: int
    as_of: int
    by: str
    at: datetime
    why: str


@dataclass(frozen=True, kw_only=True)
class Reconciled:
    """Both sides on a day. `begun_minor` is what the books had before the first line and the bank had not."""

    on: date
    as_of: int
    accounts: tuple[AccountAt, ...]
    books_minor: int
    begun_on: date
    begun_minor: int
    waiting: tuple[BankEntry, ...]  # in the books, not at the bank
    left: tuple[OpenLine, ...]  # at the bank, and nothing stands for them
    later: tuple[OpenLine, ...]  # at the bank; what stands for them is dated later
    gaps: tuple[str, ...]
    signed: Signed | None

    @property
    def bank_minor(self) -> int:
        return sum(one.closing_minor for one in self.accounts)

    @property
    def waiting_minor(self) -> int:
        return sum(one.amount_minor for one in self.waiting)

    @property
    def left_minor(self) -> int:
        return sum(one.amount_minor for one in (*self.left, *self.later))

    @property
    def left_count(self) -> int:
        return len(self.left) + len(self.later)

    @property
    def minus_left_minor(self) -> int:
        return -self.left_minor

    @property
    def as_of_words(self) -> str:
        return f"{self.as_of:,}"

    @property
    def reaches_to(self) -> date:
        return min(one.reaches_to for one in self.accounts)

    @property
    def is_reached(self) -> bool:
        return self.on <= self.reaches_to

    @property
    def agrees(self) -> bool:
        return self.is_reached and not (self.left or self.gaps or self.begun_minor)

    @property
    def may_sign(self) -> bool:
        """A difference from the beginning may be explained; a line that nothing stands for may not."""
        return self.is_reached and not (self.left or self.gaps) and self.signed is None


def reconciled(*, on: date | None = None, as_of: int | None = None) -> Reconciled | None:
    """Return both sides on a day, by default the last that the statements reach; None before there is a statement."""
    statements = list(BankStatement.objects.select_related("account").order_by("to_on", "id"))
    if not statements:
        return None
    reach = {one.account_id: one.to_on for one in statements}
    on = on or min(reach.values())
    signed = signed_on(on)
    as_of = as_of if as_of is not None else signed.as_of if signed else last_number()
    begun_on, late = _begun(statements), _late(on)
    waiting = open_entries(since=begun_on, until=on, as_of=as_of, but=late)
    left, every = open_lines(until=on), open_lines(until=on, but=late)
    there = {one.line_id for one in left}
    books = balances_at(on=on, as_of=as_of, accounts=(BANK,))
    begun = tuple(one for one in waiting if one.kind == Entry.Kind.OPENING)
    return Reconciled(
        on=on,
        as_of=as_of,
        accounts=_accounts(statements, on),
        books_minor=sum(books.values()),
        begun_on=begun_on,
        begun_minor=_before(begun_on, as_of, late) + sum(one.amount_minor for one in begun) - _opening(statements),
        waiting=tuple(one for one in waiting if one not in begun),
        left=left,
        later=tuple(one for one in every if one.line_id not in there),
        gaps=tuple(gap.sentence for gap in bank.gaps() if gap.on <= on),
        signed=signed,
    )


def signed_on(on: date) -> Signed | None:
    return _signed(BankReconciliation.objects.filter(on=on, undone_by=None).first())


def last_signed() -> Signed | None:
    return _signed(BankReconciliation.objects.filter(undone_by=None).order_by("-on").first())


def _signed(row: BankReconciliation | None) -> Signed | None:
    if row is None:
        return None
    return Signed(
        reconciliation_id=row.id,
        on=row.on,
        bank_minor=row.bank_minor,
        books_minor=row.books_minor,
        as_of=row.as_of,
        by=home.person(row.signed_by),
        at=row.signed_at,
        why=row.why,
    )


def lines_left(*, until: date) -> tuple[OpenLine, ...]:
    """Return the lines of days until then for which nothing stands."""
    return open_lines(until=until)


def _begun(statements: Sequence[BankStatement]) -> date:
    """The first day of which the statements tell: that of the first line, else their first own."""
    first = BankLine.objects.order_by("on").values_list("on", flat=True).first()
    return first or min(one.from_on for one in statements)


def _opening(statements: Sequence[BankStatement]) -> int:
    by_account: dict[int, list[BankStatement]] = {}
    for one in statements:
        by_account.setdefault(one.account_id, []).append(one)
    return sum(bank.opening_of(found).opening_minor for found in by_account.values())


def _late(on: date) -> set[int]:
    """The matches of which a line or an entry is dated after the day: on that day they were not whole."""
    lines = BankMatchLine.objects.filter(stands=True, line__on__gt=on).values_list("match", flat=True)
    entries = BankMatchEntry.objects.filter(stands=True, entry__on__gt=on).values_list("match", flat=True)
    return {*lines, *entries}


def _before(begun_on: date, as_of: int, late: set[int]) -> int:
    """What the books had at the bank before the first day, less what has stood for a line since."""
    standing = balances_at(on=begun_on - timedelta(days=1), as_of=as_of, accounts=(BANK,))
    parts = BankMatchEntry.objects.filter(stands=True, entry__on__lt=begun_on).exclude(match__in=late)
    return sum(standing.values()) - sum(moved_by(list(parts.values_list("entry", flat=True))).values())


def _accounts(statements: Sequence[BankStatement], on: date) -> tuple[AccountAt, ...]:
    by_account: dict[int, list[BankStatement]] = {}
    for one in statements:
        by_account.setdefault(one.account_id, []).append(one)
    moved = dict(BankLine.objects.filter(on__lte=on).values_list("account").annotate(Sum("amount_minor")))
    return tuple(
        AccountAt(
            name=found[0].account.name,
            closing_minor=bank.opening_of(found).opening_minor + moved.get(account_id, 0),
            reaches_to=max(one.to_on for one in found),
        )
        for account_id, found in by_account.items()
    )
