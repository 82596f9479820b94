"""A fund rolled forward over a period, in columns by month where there are few: opening + in - out +/- transfers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q, Sum

from ledger.models import Posting
from ledger.models.accounts import KIND_OF, NAME_OF, OPENING, TRANSFERS, Kind
from ledger.queries.balances import closing_balance

MOST_COLUMNS = 4
WORDS = {**NAME_OF, OPENING: "There when the books began"}  # beside a period's own opening balance


@dataclass(frozen=True, kw_only=True)
class RollLine:
    """One account's figures, a column each, the sum of all behind them where there are several."""

    words: str
    heads: tuple[str, ...]
    amounts: tuple[int, ...]

    @property
    def cells(self) -> tuple[tuple[str, int], ...]:
        return tuple(zip(self.heads, self.amounts, strict=True))


@dataclass(frozen=True, kw_only=True)
class RollForward:
    """opening + income - expense +/- transfers = closing, in every column."""

    from_on: date
    to_on: date
    heads: tuple[str, ...]
    opening: RollLine
    income: tuple[RollLine, ...]
    came_in: RollLine
    expense: tuple[RollLine, ...]
    went_out: RollLine
    transfers: RollLine
    closing: RollLine

    @property
    def has_transfers(self) -> bool:
        return any(self.transfers.amounts)


def roll_forward(*, fund_id: int, from_on: date, to_on: date) -> RollForward:
    """Sum a fund's income and expense by account over a period, both days counted in."""
    months = _months(from_on, to_on)
    apart = 1 < len(months) <= MOST_COLUMNS
    columns = _columns(fund_id, from_on, to_on, months if apart else [from_on])
    heads = _heads(months, from_on, to_on) if apart else ("Amount",)

    def line(words: str, amounts: Iterable[int]) -> RollLine:
        return RollLine(words=words, heads=heads, amounts=tuple(amounts))

    def lines(kind: str, sign: int) -> tuple[RollLine, ...]:
        return tuple(
            line(words, (sign * column[code] for column in columns))
            for code, words in WORDS.items()
            if KIND_OF[code] == kind and code != TRANSFERS and any(column[code] for column in columns)
        )

    def together(words: str, parts: tuple[RollLine, ...]) -> RollLine:
        return line(words, (sum(part.amounts[n] for part in parts) for n in range(len(columns))))

    before = closing_balance(fund_id=fund_id, until=from_on - timedelta(days=1))
    closings = _closings(before, columns, apart=apart)
    income, expense = lines(Kind.INCOME, 1), lines(Kind.EXPENSE, -1)
    return RollForward(
        from_on=from_on,
        to_on=to_on,
        heads=heads,
        opening=line("Opening balance", (before, *closings[:-2], before) if apart else (before,)),
        income=income,
        came_in=together("Came in", income),
        expense=expense,
        went_out=together("Went out", expense),
        transfers=line("Transfers from and to other funds", (column[TRANSFERS] for column in columns)),
        closing=line("Closing balance", closings),
    )


def _columns(fund_id: int, from_on: date, to_on: date, begins: list[date]) -> list[dict[str, int]]:
    """Credits less debits by account, a column for the days from each of `begins` to the next, then all together."""
    ends = [*(following - timedelta(days=1) for following in begins[1:]), to_on]
    sums = {
        f"column_{n}": Sum("amount_minor", filter=Q(on__gte=first, on__lte=last), default=0)
        for n, (first, last) in enumerate(zip(begins, ends, strict=True))
    }
    rows = (
        Posting.objects.filter(fund=fund_id, on__gte=from_on, on__lte=to_on).values("debit", "credit").annotate(**sums)
    )
    columns: list[dict[str, int]] = [defaultdict(int) for _ in begins]
    for row in rows:
        for n, column in enumerate(columns):
            column[row["credit"]] += row[f"column_{n}"]
            column[row["debit"]] -= row[f"column_{n}"]
    if len(begins) > 1:
        columns.append(defaultdict(int, {code: sum(column[code] for column in columns) for code in NAME_OF}))
    return columns


def _months(from_on: date, to_on: date) -> list[date]:
    months = [from_on.replace(day=1)]
    while (following := (months[-1] + timedelta(days=32)).replace(day=1)) <= to_on and len(months) <= MOST_COLUMNS:
        months.append(following)
    return months


def _heads(months: list[date], from_on: date, to_on: date) -> tuple[str, ...]:
    last_day = (months[-1] + timedelta(days=32)).replace(day=1) - timedelta(days=1)
    last = f"{months[-1]:%B}" if to_on == last_day else f"{months[-1]:%B} 1 to {to_on.day}"
    first = f"{months[0]:%B}" if from_on.day == 1 else f"{months[0]:%B} from {from_on.day}"
    return (first, *(f"{month:%B}" for month in months[1:-1]), last, "Together")


def _closings(opening_minor: int, columns: list[dict[str, int]], *, apart: bool) -> tuple[int, ...]:
    moves = {Kind.INCOME, Kind.EXPENSE}
    changes = [sum(minor for code, minor in column.items() if KIND_OF[code] in moves) for column in columns]
    if not apart:
        return (opening_minor + changes[0],)
    closings = []
    for change in changes[:-1]:
        closings.append((closings[-1] if closings else opening_minor) + change)
    return (*closings, closings[-1])
