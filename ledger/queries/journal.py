"""The journal of a period in pages: entry by entry, each posting with the accountant's codes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from ledger.models import Account, Entry, Fund, Posting, Words
from ledger.queries.marks import read, write
from ledger.queries.reports import Scope

PAGE, FILE_PAGE = 50, 2000


@dataclass(frozen=True, kw_only=True)
class Side:
    """One side of a posting: the account's name, and the accountant's code where there is one."""

    name: str
    code: str


@dataclass(frozen=True, kw_only=True)
class JournalPosting:
    debit: Side
    credit: Side
    fund_id: int
    fund_name: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class JournalEntry:
    number: int
    on: date
    is_new_day: bool
    kind_words: str
    words: str
    postings: tuple[JournalPosting, ...]


@dataclass(frozen=True, kw_only=True)
class Journal:
    """`later` is the mark of the next page, empty at the end."""

    scope: Scope
    entries: tuple[JournalEntry, ...]
    later: str
    is_first: bool


def journal(*, scope: Scope, after: str = "", most: int = PAGE) -> Journal:
    """Return a page of the entries of a period, by date and number; `after` is the mark of the page before."""
    mark = read(after)
    rows = Entry.objects.filter(on__range=(scope.from_on, scope.to_on), id__lte=scope.as_of)
    if mark:
        on, number = mark
        rows = rows.filter(on__gte=on).filter(Q(on__gt=on) | Q(on=on, id__gt=number))
    found = list(rows.order_by("on", "id")[: most + 1])
    shown = found[:most]
    last = shown[-1] if len(found) > most else None
    return Journal(
        scope=scope,
        entries=tuple(_entries(shown)),
        later=write(last.on, last.id) if last else "",
        is_first=mark is None,
    )


def whole(*, scope: Scope) -> Iterator[JournalEntry]:
    """Yield every entry of a period, page by page."""
    after = ""
    while True:
        page = journal(scope=scope, after=after, most=FILE_PAGE)
        yield from page.entries
        after = page.later
        if not after:
            return


def _entries(shown: list[Entry]) -> Iterator[JournalEntry]:
    numbers = [entry.id for entry in shown]
    sides = {row.code: Side(name=row.name, code=row.accountants_code) for row in Account.objects.all()}
    legs: dict[int, list[Posting]] = defaultdict(list)
    for posting in Posting.objects.filter(entry__in=numbers).order_by("entry", "leg"):
        legs[posting.entry_id].append(posting)
    names = Fund.objects.in_bulk({posting.fund_id for found in legs.values() for posting in found})
    words, day = Words.objects.in_bulk(numbers), None
    for entry in shown:
        typed = words.get(entry.id) or Words()
        yield JournalEntry(
            number=entry.id,
            on=entry.on,
            is_new_day=entry.on != day,
            kind_words=entry.get_kind_display(),
            words=": ".join(part for part in (typed.subject, typed.line) if part) or typed.note,
            postings=tuple(
                JournalPosting(
                    debit=sides[posting.debit_id],
                    credit=sides[posting.credit_id],
                    fund_id=posting.fund_id,
                    fund_name=names[posting.fund_id].name,
                    amount_minor=posting.amount_minor,
                )
                for posting in legs[entry.id]
            ),
        )
        day = entry.on
