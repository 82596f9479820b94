"""A fund's journal in pages, the latest first, one animal's care of one day as one row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import Case, F, Q, Sum, When

from ledger.models import Charge, Entry, FundDay, Gift, Posting, Words
from ledger.models.accounts import KIND_OF, Kind
from ledger.queries import one_donor
from ledger.queries.balances import closing_balance
from ledger.queries.marks import read, write

PAGE = 40


@dataclass(frozen=True, kw_only=True)
class JournalLine:
    """One line of an entry: what is said of it, and its number."""

    words: str
    entry_number: int


@dataclass(frozen=True, kw_only=True)
class JournalRow:
    """One event, or one animal's care of one day: its entries, what came in and went out, the balance after it."""

    on: date
    is_new_day: bool
    entry_number: int
    words: str
    lines: tuple[JournalLine, ...]
    in_minor: int
    out_minor: int
    balance_minor: int


@dataclass(frozen=True, kw_only=True)
class Journal:
    rows: tuple[JournalRow, ...]
    older: str
    is_first: bool


def journal(*, fund_id: int, after: str = "") -> Journal:
    """Return a page of a fund's journal, the latest first, one animal's care of one day as one row."""
    mark = read(after)
    entries = (
        Posting.objects.filter(fund=fund_id)
        .values("on", "entry_id")
        .annotate(came=Sum(_moved(1), default=0), went=Sum(_moved(-1), default=0))
        .order_by("-on", "-entry_id")
    )
    if mark:
        on, number = mark
        entries = entries.filter(Q(on__lt=on) | Q(on=on, entry_id__lt=number))
    found = list(entries[: PAGE + 1])
    told = _told([row["entry_id"] for row in found])
    shown = _whole_groups(found, told)
    last = shown[-1] if len(shown) < len(found) else None
    return Journal(
        rows=tuple(_rows(shown, told, _standing(fund_id, mark))),
        older=write(last["on"], last["entry_id"]) if last else "",
        is_first=mark is None,
    )


def _group(row: dict, told: dict[int, tuple]) -> tuple:
    return row["on"], *told[row["entry_id"]][:2]


def _whole_groups(found: list[dict], told: dict[int, tuple]) -> list[dict]:
    """Leave to the next page what belongs together with its first entry, unless that would leave nothing."""
    if len(found) <= PAGE:
        return found
    end = PAGE
    while end and _group(found[end - 1], told) == _group(found[PAGE], told):
        end -= 1
    return found[: end or PAGE]


def _moved(sign: int) -> Case:
    kinds = {Kind.INCOME, Kind.EXPENSE}
    raising = [code for code, kind in KIND_OF.items() if kind in kinds]
    ours, theirs = ("credit", "debit") if sign > 0 else ("debit", "credit")
    moves = Q(**{f"{ours}__in": raising}) & ~Q(**{f"{theirs}__in": raising})
    return Case(When(moves, then=F("amount_minor")), default=0)


def _standing(fund_id: int, mark: tuple[date, int] | None) -> int:
    """The balance after the first entry of a page: today's, or what stood before the entries already shown."""
    if mark is None:
        return FundDay.objects.filter(fund=fund_id).order_by("-on").values_list("closing_minor", flat=True).first() or 0
    on, number = mark
    shown = Posting.objects.filter(fund=fund_id, on=on, entry_id__gte=number).aggregate(
        came=Sum(_moved(1), default=0), went=Sum(_moved(-1), default=0)
    )
    return closing_balance(fund_id=fund_id, until=on) - shown["came"] + shown["went"]


def _rows(entries: list[dict], told: dict[int, tuple], balance_minor: int):
    day = None
    for (on, heading, _), group in groupby(entries, key=lambda row: _group(row, told)):
        members = list(group)
        came, went = sum(row["came"] for row in members), sum(row["went"] for row in members)
        lines = (JournalLine(words=told[row["entry_id"]][2], entry_number=row["entry_id"]) for row in members)
        yield JournalRow(
            on=on,
            is_new_day=on != day,
            entry_number=members[0]["entry_id"],
            words=heading,
            lines=tuple(lines),
            in_minor=came,
            out_minor=went,
            balance_minor=balance_minor,
        )
        balance_minor, day = balance_minor - came + went, on


def _told(numbers: list[int]) -> dict[int, tuple[str, object, str]]:
    """Return for each entry its heading, what sets it apart from its neighbors, and its line."""
    kinds = dict(Entry.objects.filter(id__in=numbers).values_list("id", "kind"))
    words = Words.objects.in_bulk(numbers)
    care = dict(Charge.objects.filter(entry__in=numbers).values_list("entry", "care_on"))
    donors = dict(Gift.objects.filter(entry__in=numbers).values_list("entry", one_donor.told()))
    told = {}
    for number in numbers:
        typed, label = words.get(number) or Words(), Entry.Kind(kinds[number]).label
        if number in care:
            on = care[number]
            heading = f"{typed.subject}, care of {on:%b} {on.day}"
            line = typed.line if kinds[number] == Entry.Kind.CHARGE else f"{typed.line}: {label}"
            told[number] = (heading, (typed.subject, on), line)
        elif number in donors:
            told[number] = (donors[number] or "Somebody unknown", number, typed.line or typed.note or label)
        else:
            told[number] = (typed.subject or label.capitalize(), number, typed.line or typed.note or label)
    return told
