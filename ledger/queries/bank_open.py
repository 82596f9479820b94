"""What waits on either side: lines of the bank that nothing stands for, entries that have not reached the bank."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Case, F, Q, QuerySet, Sum, When

from ledger.models import BankLine, BankLineWords, BankMatchEntry, BankMatchLine, Entry, Gift, Posting, Words
from ledger.models.accounts import BANK

AT_BANK = Sum(Case(When(debit=BANK, then=F("amount_minor")), default=-F("amount_minor")))
MISTYPED = "mistyped"


@dataclass(frozen=True, kw_only=True)
class OpenLine:
    line_id: int
    account_id: int
    account_name: str
    on: date
    amount_minor: int
    who: str
    words: str

    @property
    def text(self) -> str:
        return f"{self.who} {self.words}".casefold()


@dataclass(frozen=True, kw_only=True)
class BankEntry:
    """An entry that moved the bank account of the books, with what it moved in all its funds."""

    number: int
    on: date
    amount_minor: int
    kind: str
    kind_words: str
    words: str
    who: str

    @property
    def title(self) -> str:
        return self.who or self.words or self.kind_words


def open_lines(*, until: date | None = None, but: Collection[int] = ()) -> tuple[OpenLine, ...]:
    """Return the lines in no match that stands, the oldest first; those of the matches in `but` are among them."""
    matched = BankMatchLine.objects.filter(stands=True).exclude(match__in=but).values("line")
    rows = BankLine.objects.exclude(id__in=matched)
    return lines_of(rows.filter(on__lte=until) if until else rows)


def lines_of(rows: QuerySet[BankLine]) -> tuple[OpenLine, ...]:
    found = list(rows.select_related("account").order_by("on", "id"))
    said = BankLineWords.objects.in_bulk([row.id for row in found])
    return tuple(
        OpenLine(
            line_id=row.id,
            account_id=row.account_id,
            account_name=row.account.name,
            on=row.on,
            amount_minor=row.amount_minor,
            who=said[row.id].who if row.id in said else "",
            words=said[row.id].words if row.id in said else "",
        )
        for row in found
    )


def open_entries(
    *, since: date, until: date = date.max, as_of: int | None = None, but: Collection[int] = ()
) -> tuple[BankEntry, ...]:
    """Return the entries of these days that moved the bank account and stand in no match, the oldest first."""
    matched = BankMatchEntry.objects.filter(stands=True).exclude(match__in=but).values("entry")
    rows = Posting.objects.filter(Q(debit=BANK) | Q(credit=BANK), entry__on__range=(since, until))
    rows = rows.exclude(entry__in=matched)
    rows = rows.filter(entry__lte=as_of) if as_of is not None else rows
    sums = rows.values_list("entry").annotate(at_bank=AT_BANK)
    moved = {number: minor for number, minor in sums if minor}
    return entries_of(moved, leave_out=_undone(moved))


def entries_of(moved: dict[int, int], *, leave_out: Collection[int] = ()) -> tuple[BankEntry, ...]:
    numbers = [number for number in moved if number not in leave_out]
    words = Words.objects.in_bulk(numbers)
    donors = dict(Gift.objects.filter(entry__in=numbers, donor__isnull=False).values_list("entry", "donor__name"))
    found = []
    for entry in Entry.objects.filter(id__in=numbers).order_by("on", "id"):
        said = words.get(entry.id) or Words()
        line = ": ".join(part for part in (said.subject, said.line) if part)
        found.append(
            BankEntry(
                number=entry.id,
                on=entry.on,
                amount_minor=moved[entry.id],
                kind=entry.kind,
                kind_words=entry.get_kind_display(),
                words=line or said.note,
                who=donors.get(entry.id, ""),
            )
        )
    return tuple(found)


def moved_by(numbers: Collection[int]) -> dict[int, int]:
    """Return what entries moved at the bank, by number; nothing where they never touched it."""
    rows = Posting.objects.filter(Q(debit=BANK) | Q(credit=BANK), entry__in=numbers)
    return {number: minor for number, minor in rows.values_list("entry").annotate(at_bank=AT_BANK) if minor}


def _undone(moved: dict[int, int]) -> set[int]:
    """What was typed wrong and taken back, both in the books and never at the bank."""
    pairs = list(Entry.objects.filter(id__in=moved, reverses__in=moved).values_list("id", "reverses"))
    back = Entry.objects.filter(id__in=moved, gift_return__how=MISTYPED, gift_return__gift__entry__in=moved)
    pairs += back.values_list("id", "gift_return__gift__entry")
    return {number for one, other in pairs if moved[one] + moved[other] == 0 for number in (one, other)}
