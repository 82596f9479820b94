"""What is owed to the practice and to others, by fund and by age, and what partners owe by month of care."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Sum

from ledger.models import Charge, Entry, Fund, Posting, Share, Words
from ledger.models.accounts import BANK, DUE_FROM_PARTNERS, DUE_TO_PRACTICE, PARTNER_DEPOSITS
from ledger.queries.sums import balances_at, last_number

WINDOWS = (35, 366, 366 * 200)  # days of care to look back, until what is owed is found
SHOWN = 12


@dataclass(frozen=True, kw_only=True)
class OwedByFund:
    """What one fund owes; `oldest_on` is the book date of the oldest day that is still open."""

    fund_id: int
    fund_name: str
    amount_minor: int
    oldest_on: date | None


@dataclass(frozen=True, kw_only=True)
class Paid:
    entry_number: int
    on: date
    words: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class PracticeDue:
    """What is due to the practice; `bank_minor` is what the books have in the bank."""

    lines: tuple[OwedByFund, ...]
    paid: tuple[Paid, ...]
    bank_minor: int

    @property
    def total_minor(self) -> int:
        return sum(line.amount_minor for line in self.lines)


@dataclass(frozen=True, kw_only=True)
class DueMonth:
    """What a partner still owes for the care of one month; `month` is its first day."""

    month: date
    asked_minor: int
    open_minor: int


@dataclass(frozen=True, kw_only=True)
class PartyMoney:
    """What stands between a partner and the holder by agreement: due by month of care, and its deposit."""

    party_key: str
    fund_id: int | None
    name: str
    due_minor: int
    deposit_minor: int
    months: tuple[DueMonth, ...]
    entries: tuple[Paid, ...]


def practice_due() -> PracticeDue:
    standing = now((DUE_TO_PRACTICE, BANK))
    return PracticeDue(
        lines=owed_by_fund(DUE_TO_PRACTICE, standing),
        paid=_paid(DUE_TO_PRACTICE),
        bank_minor=sum(minor for (_, code), minor in standing.items() if code == BANK),
    )


def party_money(*, party_key: str) -> PartyMoney:
    """Return a partner's side of the agreement; a payment settles the oldest month first (F3)."""
    fund = Fund.objects.filter(kind=Fund.Kind.AGREEMENT, party_key=party_key).first()
    if fund is None:
        return PartyMoney(
            party_key=party_key, fund_id=None, name="", due_minor=0, deposit_minor=0, months=(), entries=()
        )
    standing = now((DUE_FROM_PARTNERS, PARTNER_DEPOSITS))
    due = standing.get((fund.id, DUE_FROM_PARTNERS), 0)
    return PartyMoney(
        party_key=party_key,
        fund_id=fund.id,
        name=fund.name,
        due_minor=due,
        deposit_minor=-standing.get((fund.id, PARTNER_DEPOSITS), 0),
        months=due_months(party_key=party_key, fund_id=fund.id, due_minor=due),
        entries=_with_party(fund.id),
    )


def parties_money() -> tuple[tuple[str, str, int, int], ...]:
    """Return each partner's key, the name of its agreement, what is due from it and its deposit."""
    standing = now((DUE_FROM_PARTNERS, PARTNER_DEPOSITS))
    funds = Fund.objects.filter(kind=Fund.Kind.AGREEMENT).order_by("name")
    return tuple(
        (
            fund.party_key,
            fund.name,
            standing.get((fund.id, DUE_FROM_PARTNERS), 0),
            -standing.get((fund.id, PARTNER_DEPOSITS), 0),
        )
        for fund in funds
    )


def now(accounts: tuple[str, ...] = ()) -> dict[tuple[int, str], int]:
    """Return debits less credits by fund and account as the books stand; of these accounts, where some are said."""
    return balances_at(on=date.max, as_of=last_number(), accounts=accounts)


def owed_by_fund(account: str, standing: dict[tuple[int, str], int]) -> tuple[OwedByFund, ...]:
    names = dict(Fund.objects.values_list("id", "name"))
    oldest: dict[int, date] = {}
    for fund_id, on, _ in oldest_first(account, standing):
        oldest.setdefault(fund_id, on)
    return tuple(
        OwedByFund(fund_id=fund_id, fund_name=names[fund_id], amount_minor=-minor, oldest_on=oldest.get(fund_id))
        for (fund_id, code), minor in sorted(standing.items(), key=lambda row: names[row[0][0]])
        if code == account
    )


def oldest_first(account: str, standing: dict[tuple[int, str], int]) -> list[tuple[int, date, int]]:
    """Return the open parts of what funds owe on an account, each with its fund and book date, the oldest first.

    What was paid has settled the oldest of its fund, so the latest days that sum to the balance are open.
    """
    owed = {fund_id: -minor for (fund_id, code), minor in standing.items() if code == account and minor < 0}
    last = Entry.objects.order_by("-on").values_list("on", flat=True).first()
    for days in WINDOWS:
        left = dict(owed)
        found = _open_lines(
            account, left, since=date.fromordinal(max(last.toordinal() - days, 1)) if last else date.max
        )
        if not any(left.values()):
            break
    return sorted(found, key=lambda line: (line[1], line[0]))


def _open_lines(account: str, left: dict[int, int], *, since: date) -> list[tuple[int, date, int]]:
    """Take from what is `left` of each fund what it came to owe since a day, the latest day first."""
    came = Posting.objects.filter(fund__in=left, on__gte=since, credit=account, back_of=None)
    owed = {(fund_id, on): minor for fund_id, on, minor in _by_day(came, "fund", "on")}
    # What was given back is no longer owed for the day on which it was posted first.
    given = Posting.objects.filter(fund__in=left, on__gte=since, debit=account, back_of__on__gte=since)
    for fund_id, on, minor in _by_day(given, "back_of__fund", "back_of__on"):
        owed[fund_id, on] -= minor
    found = []
    for (fund_id, on), minor in sorted(owed.items(), key=lambda day: day[0][1], reverse=True):
        part = min(minor, left[fund_id])
        if part > 0:
            left[fund_id] -= part
            found.append((fund_id, on, part))
    return found


def _by_day(rows: QuerySet[Posting], fund: str, on: str) -> QuerySet:
    return rows.values_list(fund, on).annotate(total=Sum("amount_minor"))


def asked_by_agreement(*, numbers: Collection[int]) -> int:
    """Return what lines of care, by the numbers of their entries, ask of a partner by its agreement, as it stands."""
    if not numbers:
        return 0
    shares = Share.objects.filter(charge__entry__in=list(numbers), payer=Share.Payer.AGREEMENT)
    return shares.aggregate(total=Sum("amount_minor"))["total"] or 0


def due_months(*, party_key: str, fund_id: int, due_minor: int) -> tuple[DueMonth, ...]:
    """Return the months of care that are still open, the oldest first: the latest months that sum to what is due."""
    if due_minor <= 0:
        return ()
    for days in WINDOWS:
        asked = _asked_by_month(party_key, fund_id, days)
        if sum(max(minor, 0) for _, minor in asked) >= due_minor:
            break
    months, left = [], due_minor
    for month, minor in reversed(asked):
        part = min(max(minor, 0), left)
        if part:
            months.append(DueMonth(month=month, asked_minor=minor, open_minor=part))
            left -= part
    return tuple(reversed(months))


def _asked_by_month(party_key: str, fund_id: int, days: int) -> list[tuple[date, int]]:
    theirs = Charge.objects.filter(party_key=party_key).exclude(party_key="")
    latest = theirs.order_by("-care_on", "-id").values_list("care_on", flat=True).first()
    if latest is None:
        return []
    floor = date.fromordinal(max(latest.toordinal() - days, 1)).replace(day=1)
    # No line is dated before its day of care, so the fund's index by date bounds the reading.
    rows = Posting.objects.filter(fund=fund_id, on__gte=floor, charge__care_on__gte=floor)
    sums: dict[date, int] = defaultdict(int)
    moved = rows.filter(Q(debit=DUE_FROM_PARTNERS) | Q(credit=DUE_FROM_PARTNERS))
    by_day = moved.values_list("charge__care_on", "debit").annotate(total=Sum("amount_minor"))
    for care_on, debit, minor in by_day:
        sums[care_on.replace(day=1)] += minor if debit == DUE_FROM_PARTNERS else -minor
    return sorted(sums.items())


def _paid(account: str) -> tuple[Paid, ...]:
    return _latest((Entry.Kind.PAID,), Posting.objects.filter(debit=account))


def _with_party(fund_id: int) -> tuple[Paid, ...]:
    kinds = (Entry.Kind.PARTNER_PAID, Entry.Kind.DEPOSIT, Entry.Kind.DEBT)
    return _latest(kinds, Posting.objects.filter(fund=fund_id, charge=None))


def _latest(kinds: tuple[str, ...], legs: QuerySet[Posting]) -> tuple[Paid, ...]:
    """The latest entries of some kinds that have such legs, kind by kind, so that few are looked at.

    A leg's date repeats its entry's: named too, it leads through the index by fund and date.
    """
    found: list[tuple[int, date]] = []
    mine = Exists(legs.filter(entry=OuterRef("pk"), on=OuterRef("on")))
    for kind in kinds:
        entries = Entry.objects.filter(kind=kind, reversed_by=None).filter(mine)
        found += entries.order_by("-id").values_list("id", "on")[:SHOWN]
    found = sorted(found, reverse=True)[:SHOWN]
    rows = legs.filter(entry__in=[number for number, _ in found], on__in={on for _, on in found})
    return _told(rows.values("entry", "on").annotate(total=Sum("amount_minor")).order_by("-entry"))


def _told(rows) -> tuple[Paid, ...]:
    rows = list(rows)
    numbers = [row["entry"] for row in rows]
    notes = dict(Words.objects.filter(entry__in=numbers).values_list("entry", "note"))
    kinds = dict(Entry.objects.filter(id__in=numbers).values_list("id", F("kind")))
    return tuple(
        Paid(
            entry_number=row["entry"],
            on=row["on"],
            words=notes.get(row["entry"]) or Entry.Kind(kinds[row["entry"]]).label,
            amount_minor=row["total"],
        )
        for row in rows
    )
