"""What is owed to the practice and to others, by fund and by age, and what partners owe by month of care."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import F, Q, Sum
from django.db.models.functions import TruncMonth

from ledger.models import Entry, Fund, Posting, Words
from ledger.models.accounts import BANK, DUE_FROM_PARTNERS, DUE_TO_PRACTICE, PARTNER_DEPOSITS
from ledger.queries.sums import balances_at, last_number

PAGE = 200
WINDOWS = (92, 366, 366 * 200)  # days of care to look back, until what is owed is found
SHOWN = 12


@dataclass(frozen=True, kw_only=True)
class OwedByFund:
    """What one fund owes; `oldest_on` is the book date of the oldest line that is still open."""

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
    standing = now()
    return PracticeDue(
        lines=owed_by_fund(DUE_TO_PRACTICE, standing),
        paid=_paid((Entry.Kind.PAID,), DUE_TO_PRACTICE),
        bank_minor=sum(minor for (_, code), minor in standing.items() if code == BANK),
    )


def party_money(*, party_key: str) -> PartyMoney:
    """Return a partner's side of the agreement; a payment settles the oldest month first (F3)."""
    fund = Fund.objects.filter(kind=Fund.Kind.AGREEMENT, party_key=party_key).first()
    if fund is None:
        return PartyMoney(
            party_key=party_key, fund_id=None, name="", due_minor=0, deposit_minor=0, months=(), entries=()
        )
    standing = now()
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
    standing = now()
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


def now() -> dict[tuple[int, str], int]:
    """Return debits less credits by fund and account, as the books stand."""
    return balances_at(on=date.max, as_of=last_number())


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

    What was paid has settled the oldest of its fund, so the latest lines that sum to the balance are open.
    """
    found = []
    for (fund_id, code), minor in standing.items():
        if code == account and minor < 0:
            found += _open_lines(fund_id, account, -minor)
    return sorted(found, key=lambda line: (line[1], line[0]))


def _open_lines(fund_id: int, account: str, owed_minor: int) -> Iterator[tuple[int, date, int]]:
    rows = (
        Posting.objects.filter(fund=fund_id, credit=account, back_of=None)
        .annotate(back=Sum("given_back__amount_minor", default=0))
        .order_by("-on", "-entry", "-leg")
    )
    for start in range(0, rows.count() or 1, PAGE):
        for row in rows[start : start + PAGE]:
            part = min(row.amount_minor - row.back, owed_minor)
            if part > 0:
                owed_minor -= part
                yield fund_id, row.on, part
            if not owed_minor:
                return


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
    rows = Posting.objects.filter(fund=fund_id, charge__party_key=party_key)
    latest = rows.order_by("-charge__care_on").values_list("charge__care_on", flat=True).first()
    if latest is None:
        return []
    floor = max(latest.toordinal() - days, 1)
    rows = rows.filter(charge__care_on__gte=date.fromordinal(floor).replace(day=1))
    sums: dict[date, int] = defaultdict(int)
    moved = rows.filter(Q(debit=DUE_FROM_PARTNERS) | Q(credit=DUE_FROM_PARTNERS))
    by_month = moved.annotate(month=TruncMonth("charge__care_on")).values_list("month", "debit")
    for month, debit, minor in by_month.annotate(total=Sum("amount_minor")).order_by("month"):
        sums[month] += minor if debit == DUE_FROM_PARTNERS else -minor
    return sorted(sums.items())


def _paid(kinds: tuple[str, ...], account: str) -> tuple[Paid, ...]:
    legs = Posting.objects.filter(entry__kind__in=kinds, debit=account, entry__reversed_by=None)
    return _told(legs.values("entry", "on").annotate(total=Sum("amount_minor")).order_by("-entry")[:SHOWN])


def _with_party(fund_id: int) -> tuple[Paid, ...]:
    kinds = (Entry.Kind.PARTNER_PAID, Entry.Kind.DEPOSIT, Entry.Kind.DEBT)
    legs = Posting.objects.filter(fund=fund_id, entry__kind__in=kinds, entry__reversed_by=None)
    return _told(legs.values("entry", "on").annotate(total=Sum("amount_minor")).order_by("-entry")[:SHOWN])


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
