"""Dates and amounts as a file writes them, read by one decided rule.

The decimal mark and the order of day and month are decided for the whole file and told; where both readings fit every
row, nobody guesses.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

AMOUNT = re.compile(r"[+-]?[0-9][0-9.,'\u00a0\u202f ]*")
NUMERIC_DAY = re.compile(r"([0-9]{1,2})[./-]([0-9]{1,2})[./-]([0-9]{4})")
ISO_DAY = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})(?:[T ].*)?")
MOST_DIGITS = 15
LONGEST_TOLD = 30
SYMBOLS = re.compile(r"[$€£¥]|\b[A-Z]{3}\b")


class Unclear(ValueError):
    """A file that reads two ways; the message says what to choose."""


class CannotStand(ValueError):
    """A row of which nothing can be made; the message says why."""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """How a file is read: "." or "," before the decimals, day or month first in a date of three numbers."""

    decimal: str
    day_first: bool | None  # None where no date is written as three numbers

    @property
    def words(self) -> str:
        mark = "a decimal point" if self.decimal == "." else "a decimal comma"
        if self.day_first is None:
            return mark
        return f"{mark}; in dates of three numbers the {'day' if self.day_first else 'month'} first"


def decided(
    *, amounts: Iterable[str], days: Iterable[str], decimal: str = "", day_first: bool | None = None
) -> Reading:
    """Decide once how a file is read. What somebody has chosen stands; else the file must say it itself.

    >>> decided(amounts=["1.234,50", "12,00"], days=["31.12.2026"])
    Reading(decimal=',', day_first=True)
    >>> decided(amounts=["12", "1,000"], days=["2026-10-14"])
    Traceback (most recent call last):
    ...
    ledger.formulas.typed_cells.Unclear: "1,000" may be a thousand, or one with three decimals. Choose the decimal mark.

    :raises Unclear: where both readings fit and nobody has chosen.
    """
    return Reading(decimal=decimal or _decimal(amounts), day_first=_day_first(days) if day_first is None else day_first)


def _decimal(amounts: Iterable[str]) -> str:
    marks, doubtful = set(), ""
    for cell in amounts:
        plain = SYMBOLS.sub("", cell).strip()
        inside = [mark for mark in plain if mark in ".,"]
        if not inside:
            continue
        last = inside[-1]
        behind = len(plain) - plain.rindex(last) - 1
        if len(set(inside)) == 2 or behind != 3:
            marks.add(last)
        elif len(inside) > 1:
            marks.add("." if last == "," else ",")  # twice the same: it groups thousands
        else:
            doubtful = plain
    if len(marks) > 1:
        raise Unclear("Some amounts have a decimal point and some a decimal comma. Choose the decimal mark.")
    if not marks and doubtful:
        raise Unclear(f"{told(doubtful)} may be a thousand, or one with three decimals. Choose the decimal mark.")
    return marks.pop() if marks else "."


def _day_first(days: Iterable[str]) -> bool | None:
    first, second, seen = False, False, ""
    for cell in days:
        if found := NUMERIC_DAY.fullmatch(cell.strip()):
            seen = cell.strip()
            first |= int(found[1]) > 12
            second |= int(found[2]) > 12
    if first and second:
        raise Unclear("Some dates have the day first and some the month. Choose the order.")
    if seen and not (first or second):
        raise Unclear(f"{told(seen)} may have the day or the month first. Choose the order.")
    return first if seen else None


def amount(cell: str, *, reading: Reading, digits: int) -> int:
    """Return an amount in minor units.

    >>> point, comma = (Reading(decimal=mark, day_first=True) for mark in ".,")
    >>> amount("$1,234.50", reading=point, digits=2), amount("1 234,5 EUR", reading=comma, digits=2)
    (123450, 123450)
    >>> amount("(12.00)", reading=point, digits=2)
    -1200

    :raises CannotStand: for what is no amount of this currency.
    """
    plain = SYMBOLS.sub("", cell).strip()
    below = plain.startswith("(") and plain.endswith(")")
    plain = plain.strip("()").strip().replace("\u2212", "-")
    if not AMOUNT.fullmatch(plain):
        raise CannotStand(f"{told(cell)} is no amount.")
    grouping = "," if reading.decimal == "." else "."
    whole, _, part = plain.partition(reading.decimal)
    if part and not part.isdigit():
        raise CannotStand(f"{told(cell)} is no amount with a decimal {_named(reading.decimal)}.")
    if len(part.rstrip("0")) > digits:
        raise CannotStand(f"{told(cell)} has more decimals than the currency.")
    for mark in (grouping, "'", "\u00a0", "\u202f", " "):
        if mark in whole and not re.fullmatch(r"[+-]?[0-9]{1,3}(?:" + re.escape(mark) + r"[0-9]{3})+", whole):
            raise CannotStand(f"{told(cell)} is no amount with a decimal {_named(reading.decimal)}.")
        whole = whole.replace(mark, "")
    if len(whole) > MOST_DIGITS:
        raise CannotStand(f"{told(cell)} is more than any amount here can be.")
    minor = int(whole.lstrip("+-") + part.rstrip("0").ljust(digits, "0"))
    return -minor if below or whole.startswith("-") else minor


def day(cell: str, *, reading: Reading) -> date:
    """Return a date.

    >>> day("2026-10-14T09:30:00", reading=Reading(decimal=".", day_first=False)).isoformat()
    '2026-10-14'
    >>> day("04.05.2026", reading=Reading(decimal=".", day_first=True)).isoformat()
    '2026-05-04'
    >>> day("31.11.2026", reading=Reading(decimal=".", day_first=True))
    Traceback (most recent call last):
    ...
    ledger.formulas.typed_cells.CannotStand: "31.11.2026" is no day of the calendar, the day read first.

    :raises CannotStand: for what is no date.
    """
    plain = cell.strip()
    try:
        if found := ISO_DAY.fullmatch(plain):
            return date(int(found[1]), int(found[2]), int(found[3]))
        if found := NUMERIC_DAY.fullmatch(plain):
            one, two = int(found[1]), int(found[2])
            return date(int(found[3]), two, one) if reading.day_first else date(int(found[3]), one, two)
    except ValueError:
        order = f", the {'day' if reading.day_first else 'month'} read first" if NUMERIC_DAY.fullmatch(plain) else ""
        raise CannotStand(f"{told(cell)} is no day of the calendar{order}.") from None
    raise CannotStand(f"{told(cell)} is no date such as 2026-10-14.")


def told(cell: str) -> str:
    """Return a cell as a sentence names it, cut where it is long."""
    return f'"{cell}"' if len(cell) <= LONGEST_TOLD else f'"{cell[:LONGEST_TOLD]}…"'


def _named(mark: str) -> str:
    return "point" if mark == "." else "comma"
