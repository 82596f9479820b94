"""A bank's table of movements: its columns said once, read by one decided rule, and footed like any statement.

Where it shows the balance after each line, the lines must lead from one to the next, upwards or downwards; where it
does not, the balance at its end is told by whoever brings it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ledger.formulas import typed_cells as typed
from ledger.formulas.bank_files import MOST_MINOR, CannotRead, Line, Statement, footed, told_apart, written
from ledger.formulas.typed_cells import CannotStand, Reading, Unclear

# What a column may hold, with the words by which its head is known.
MEANINGS: dict[str, tuple[str, ...]] = {
    "on": ("date", "booking date", "posted", "booked", "day", "transaction date"),
    "amount": ("amount", "movement", "value"),
    "paid_in": ("credit", "paid in", "money in", "deposits", "in"),
    "paid_out": ("debit", "paid out", "money out", "withdrawals", "out"),
    "balance": ("balance", "running balance"),
    "who": ("name", "payee", "counterparty", "payer", "from or to"),
    "words": ("description", "details", "text", "memo", "purpose", "words"),
    "reference": ("reference", "id", "transaction id", "number"),
    "currency": ("currency", "ccy"),
    "status": ("status", "state"),
}
NEEDED_WORDS = "Say which column holds the day, and which the amount, or what came in and what went out."
LONGEST_FIGURE = 40
NOT_BOOKED = ("pending", "not booked", "unbooked", "reserved")


@dataclass(frozen=True, kw_only=True)
class Known:
    """What is known of a table beside its rows: whose it is, in what money, and how its cells are read."""

    account: str
    currency: str
    digits: int
    columns: Mapping[str, int]
    decimal: str = ""
    day_first: bool | None = None
    closing_minor: int | None = None  # told by a person, where no column shows the balance


@dataclass(frozen=True, kw_only=True)
class Told:
    """What one row says."""

    place: int  # the line of the file
    line: Line
    balance_minor: int | None


def is_said(columns: Mapping[str, int]) -> bool:
    """Say whether a table can be read by these columns."""
    return "on" in columns and ("amount" in columns or {"paid_in", "paid_out"} <= columns.keys())


def reading(rows: Sequence[Sequence[str]], known: Known) -> Reading:
    """Decide once how a table's amounts and days are read.

    :raises Unclear: where both readings fit and nobody has chosen.
    """
    figures = [known.columns[name] for name in ("amount", "paid_in", "paid_out", "balance") if name in known.columns]
    return typed.decided(
        amounts=[cells[place][:LONGEST_FIGURE] for cells in rows for place in figures],
        days=[cells[known.columns["on"]] for cells in rows],
        decimal=known.decimal,
        day_first=known.day_first,
    )


def statement(rows: Sequence[tuple[int, Sequence[str]]], known: Known) -> Statement:
    """Return what a table says; each row comes with its line in the file.

    :raises CannotRead: when a row cannot stand, or the table does not foot.
    """
    if not is_said(known.columns):
        raise CannotRead(NEEDED_WORDS)
    try:
        read_as = reading([cells for _, cells in rows], known)
    except Unclear as unclear:
        raise CannotRead(str(unclear)) from None
    booked = [(place, cells) for place, cells in rows if not _waits(cells, known)]
    if not booked:
        raise CannotRead("The table has no booked line.")
    told = [_told(place, cells, known, read_as) for place, cells in booked]
    opening, closing = _balances(told, known)
    days = [one.line.on for one in told]
    lines = told_apart([one.line for one in told])
    return footed(
        Statement(
            account=known.account,
            currency=known.currency,
            reference="",
            from_on=min(days),
            to_on=max(days),
            opening_minor=opening,
            closing_minor=closing,
            opening_told="balance" in known.columns,
            lines=tuple(line for line in lines if line.amount_minor),
            not_booked=len(rows) - len(booked),
        )
    )


def _said(cells: Sequence[str], known: Known, meaning: str) -> str:
    return cells[known.columns[meaning]].strip() if meaning in known.columns else ""


def _waits(cells: Sequence[str], known: Known) -> bool:
    status = _said(cells, known, "status").casefold()
    return any(words in status for words in NOT_BOOKED)


def _told(place: int, cells: Sequence[str], known: Known, read_as: Reading) -> Told:
    try:
        on = typed.day(_said(cells, known, "on"), reading=read_as)
        amount = _moved(cells, known, read_as)
        shown = _said(cells, known, "balance")
        balance = _figure(shown, known, read_as) if shown else None
    except CannotStand as cannot:
        raise CannotRead(f"Line {place}: {cannot}") from None
    if (other := _said(cells, known, "currency").upper()) and other != known.currency:
        raise CannotRead(f"Line {place} is in {other[:12]}, and the account in {known.currency}.")
    if "balance" in known.columns and balance is None:
        raise CannotRead(f"Line {place} has no balance after it.")
    reference, who, words = (_said(cells, known, name) for name in ("reference", "who", "words"))
    identity = f"reference {reference}" if reference else f"{who} {words}"
    line = Line(on=on, amount_minor=amount, identity=identity, who=who[:140], words=words[:500])
    return Told(place=place, line=line, balance_minor=balance)


def _figure(cell: str, known: Known, read_as: Reading) -> int:
    if len(cell) > LONGEST_FIGURE:
        raise CannotStand(f'"{cell[:30]}" is more than any amount here can be.')
    found = typed.amount(cell, reading=read_as, digits=known.digits)
    if abs(found) > MOST_MINOR:
        raise CannotStand(f'"{cell}" is more than any amount here can be.')
    return found


def _moved(cells: Sequence[str], known: Known, read_as: Reading) -> int:
    """Above zero what came in: one signed column, or one for each way, in which a sign says nothing more."""
    if "amount" in known.columns:
        return _figure(_said(cells, known, "amount"), known, read_as)
    came, went = (_said(cells, known, name) for name in ("paid_in", "paid_out"))
    if not (came or went):
        raise CannotStand("It has neither an amount that came in nor one that went out.")
    inwards = _figure(came, known, read_as) if came else 0
    outwards = _figure(went, known, read_as) if went else 0
    if inwards and outwards:
        raise CannotStand("It came in and went out at once.")
    return abs(inwards) - abs(outwards)


def _balances(told: Sequence[Told], known: Known) -> tuple[int, int]:
    """Return the balance before the first line and after the last one, whichever way the table runs."""
    moved = sum(one.line.amount_minor for one in told)
    if "balance" not in known.columns:
        if known.closing_minor is None:
            raise CannotRead("No column shows the balance: say what it was at the end of the statement.")
        return known.closing_minor - moved, known.closing_minor
    downwards, upwards = _broken(told), _broken(told[::-1])
    if downwards is not None and upwards is not None:
        one = downwards if told[0].line.on <= told[-1].line.on else upwards
        shown = written(one.balance_minor or 0, known.currency)
        raise CannotRead(f"Line {one.place} does not follow: with it the balance is not {shown}.")
    ordered = told if downwards is None else told[::-1]
    closing = ordered[-1].balance_minor or 0
    return closing - moved, closing


def _broken(told: Sequence[Told]) -> Told | None:
    """The first line after which the balance is not the one before it and its own amount."""
    for before, one in zip(told, told[1:], strict=False):
        if one.balance_minor != (before.balance_minor or 0) + one.line.amount_minor:
            return one
    return None
