"""What a bank's file says, whatever its form: statements that foot, each line with what identifies it.

A reader of one form makes a Statement and gives it to `footed()`; an obstacle is one sentence.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from typing import Protocol

from ledger.formulas.money import MINOR_UNITS, minor_digits

MOST_MINOR = 10**15
EARLIEST, LATEST = date(1900, 1, 1), date(2199, 12, 31)
# Signed or not, a point or a comma before the decimals, and no grouping (OFX 3.2.9.1).
AMOUNT = re.compile(r"([+-]?)([0-9]{0,18})(?:[.,]([0-9]{0,18}))?")
NOTHING_READ = "Nothing was read."


class CannotRead(ValueError):
    """A file, or a statement in it, that cannot be read as it is; the message says why."""

    def __init__(self, why: str) -> None:
        super().__init__(f"{why} {NOTHING_READ}")


@dataclass(frozen=True, kw_only=True)
class Line:
    """One booked movement: above zero what came in. `identity` tells it from every other line of its account."""

    on: date
    amount_minor: int
    identity: str
    who: str = ""
    words: str = ""


@dataclass(frozen=True, kw_only=True)
class Statement:
    """An account from one balance to the next. `opening_told` is false where the form knows no opening balance."""

    account: str
    currency: str
    reference: str
    from_on: date
    to_on: date
    opening_minor: int
    closing_minor: int
    opening_told: bool
    lines: tuple[Line, ...]
    not_booked: int = 0

    @property
    def moved_minor(self) -> int:
        return sum(line.amount_minor for line in self.lines)


class Node(Protocol):
    """An element: its tag, the words in it, and the elements below it."""

    tag: str

    @property
    def text(self) -> str | None: ...

    def __iter__(self) -> Iterator[Node]: ...


def below(node: Node, *path: str) -> list[Node]:
    """Return the elements at the end of a path of tags, whatever their namespace."""
    found = [node]
    for tag in path:
        found = [child for one in found for child in one if local(child.tag) == tag]
    return found


def said(node: Node, *path: str) -> str:
    """Return the words of the first element at the end of a path, empty where there is none."""
    return next((" ".join((one.text or "").split()) for one in below(node, *path)), "")


def local(tag: object) -> str:
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def minor(text: str, *, digits: int) -> int:
    """Return an amount in minor units: point or comma, no grouping, at most the digits of its currency.

    >>> minor("-34.51", digits=2), minor("105678,5", digits=2), minor("200", digits=0), minor("18.1500", digits=2)
    (-3451, 10567850, 200, 1815)
    >>> minor("1,234.56", digits=2)
    Traceback (most recent call last):
    ...
    ledger.formulas.bank_files.CannotRead: "1,234.56" is no amount of a bank's file. Nothing was read.

    :raises CannotRead: for anything else.
    """
    found = AMOUNT.fullmatch(text.strip()) if len(text) < 60 else None
    whole, part = (found[2], (found[3] or "").rstrip("0")) if found else ("", "")
    if found is None or not (found[2] or found[3]):
        raise CannotRead(f'"{text[:30]}" is no amount of a bank\'s file.')
    if len(part) > digits:
        raise CannotRead(f'"{text[:30]}" has more decimals than its currency.')
    amount = int((whole or "0") + part.ljust(digits, "0"))
    if amount > MOST_MINOR:
        raise CannotRead(f'"{text[:30]}" is more than any amount here can be.')
    return -amount if found[1] == "-" else amount


def day(year: str, month: str, of_month: str) -> date:
    """Return a date from its three numbers.

    :raises CannotRead: where there is no such day, or none that a statement has.
    """
    try:
        found = date(int(year), int(month), int(of_month))
    except ValueError:
        raise CannotRead(f'"{year}-{month}-{of_month}" is no date.') from None
    if not EARLIEST <= found <= LATEST:
        raise CannotRead(f'"{year}-{month}-{of_month}" is no date of a statement.')
    return found


def digits_of(currency: str) -> int:
    """Return the decimals of a currency.

    :raises CannotRead: for what is no currency in use.
    """
    if currency not in MINOR_UNITS:
        raise CannotRead(f'"{currency[:12]}" is no currency in use.' if currency else "It does not name its currency.")
    return minor_digits(currency)


def one_currency(codes: Iterable[str]) -> str:
    """Return the one currency of a statement.

    :raises CannotRead: where there are several, or none.
    """
    found = sorted({code for code in codes if code})
    if len(found) > 1:
        raise CannotRead(f"A statement has amounts in several currencies: {', '.join(found)[:40]}.")
    if not found:
        raise CannotRead("A statement does not name its currency.")
    return found[0]


def footed(statement: Statement) -> Statement:
    """Return a statement whose opening balance and movements make its closing balance.

    :raises CannotRead: where they do not, or a figure is beyond reason.
    """
    reached = statement.opening_minor + statement.moved_minor
    if reached != statement.closing_minor:
        parts = (statement.opening_minor, statement.moved_minor, reached, statement.closing_minor)
        opening, moved, makes, closing = (written(part, statement.currency) for part in parts)
        raise CannotRead(
            f"The statement through {statement.to_on} does not foot: {opening} at its beginning and {moved} moved make "
            f"{makes}, and it says {closing}."
        )
    if max(abs(statement.opening_minor), abs(statement.closing_minor)) > MOST_MINOR:
        raise CannotRead("A balance is more than any amount here can be.")
    return statement


def written(amount_minor: int, currency: str) -> str:
    """Write an amount with its currency.

    >>> written(-123456789, "USD"), written(5, "USD"), written(27, "JPY")
    ('-1,234,567.89 USD', '0.05 USD', '27 JPY')
    """
    digits = minor_digits(currency)
    whole, part = divmod(abs(amount_minor), 10**digits)
    sign = "-" if amount_minor < 0 else ""
    return f"{sign}{whole:,}{f'.{part:0{digits}}' if digits else ''} {currency}"


def told_apart(lines: Sequence[Line]) -> tuple[Line, ...]:
    """Give lines that say the same their place among each other, so that each stays one line.

    What each says stands in `identity`; it leaves as a digest, which names nobody.

    >>> [line.identity[:6] for line in told_apart([Line(on=EARLIEST, amount_minor=5, identity="a")] * 2)]
    ['1efee7', 'fc03d0']
    """
    seen: Counter[str] = Counter()
    found = []
    for line in lines:
        key = f"{line.on} {line.amount_minor} {line.identity}"
        seen[key] += 1
        found.append(replace(line, identity=digest(f"{key} #{seen[key]}")))
    return tuple(found)


def digest(words: str) -> str:
    return sha256(words.encode()).hexdigest()
