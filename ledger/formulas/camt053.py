"""ISO 20022 camt.053, the bank's statement of an account, in every version: its shape is the same since the second.

Only booked entries count. Amounts are unsigned, an indicator says which way they went. Published: ISO 20022 message
definition report, Bank-to-Customer Cash Management.
"""

from __future__ import annotations

import re
from datetime import date

from ledger.formulas.bank_files import (
    CannotRead,
    Line,
    Node,
    Statement,
    below,
    day,
    digits_of,
    footed,
    minor,
    one_currency,
    said,
    told_apart,
)

FAMILY = re.compile(
    r"\{[^}]{0,80}camt\.([0-9]{3})\.[0-9]{3}\.[0-9]{2}[^}]{0,40}\}Document"
)  # a country may add its own
OTHERS = {"052": "what moved within a day", "054": "single movements"}
OPENING, CLOSING = ("OPBD", "PRCD", "ITBD"), ("CLBD", "ITBD")
ISO_DAY = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})(?:T.*|Z|[+-][0-9]{2}:[0-9]{2})?")
UNSIGNED = re.compile(r"[0-9]{0,18}(?:\.[0-9]{0,18})?")
SIGNS = {"CRDT": 1, "DBIT": -1}
NO_REFERENCE = frozenset({"", "NOTPROVIDED", "NOT PROVIDED", "NONREF"})


def statements(root: Node) -> tuple[Statement, ...]:
    """Return the statements of a file.

    :raises CannotRead: when it is another message, has no statement, or one of them does not foot.
    """
    family = FAMILY.fullmatch(root.tag)
    if family is None:
        raise CannotRead("This is XML, and neither an ISO 20022 statement (camt.053) nor OFX.")
    if family[1] != "053":
        what = OTHERS.get(family[1], "something else")
        raise CannotRead(f"This file (camt.{family[1]}) tells {what}. Take out the statement, camt.053.")
    found = below(root, "BkToCstmrStmt", "Stmt")
    if not found:
        raise CannotRead("The file is a camt.053 message without a statement in it.")
    return tuple(_statement(one) for one in found)


def _statement(node: Node) -> Statement:
    balances, entries = below(node, "Bal"), below(node, "Ntry")
    currency = one_currency(
        [said(node, "Acct", "Ccy"), *(_currency(one) for one in balances), *(_currency(one) for one in entries)]
    )
    digits = digits_of(currency)
    opening, closing = _balance(balances, OPENING, last=False), _balance(balances, CLOSING, last=True)
    if opening is closing:
        raise CannotRead("A statement has no opening balance beside its closing one.")
    booked = [one for one in entries if (said(one, "Sts", "Cd") or said(one, "Sts")) == "BOOK"]
    to_on = _day(closing, "Dt")
    lines = told_apart([_line(one, digits=digits, otherwise=to_on) for one in booked])
    days = [line.on for line in lines]
    return footed(
        Statement(
            account=(said(node, "Acct", "Id", "IBAN") or said(node, "Acct", "Id", "Othr", "Id"))[:120],
            currency=currency,
            reference=said(node, "Id")[:80],
            from_on=min([_day(opening, "Dt"), to_on, *days]),
            to_on=max([to_on, *days]),
            opening_minor=_signed(opening, digits),
            closing_minor=_signed(closing, digits),
            opening_told=True,
            lines=tuple(line for line in lines if line.amount_minor),
            not_booked=len(entries) - len(booked),
        )
    )


def _balance(balances: list[Node], codes: tuple[str, ...], *, last: bool) -> Node:
    """The balance with the first of these codes that there is: interim ones stand on the pages of a long statement."""
    for code in codes:
        found = [one for one in balances if said(one, "Tp", "CdOrPrtry", "Cd") == code]
        if found:
            return found[-1] if last else found[0]
    raise CannotRead(f"A statement has no {'closing' if last else 'opening'} balance.")


def _currency(node: Node) -> str:
    found = below(node, "Amt")
    code = str(getattr(found[0], "attrib", {}).get("Ccy", "")) if found else ""
    if not code:
        raise CannotRead("A statement has an amount without its currency.")
    return code


def _signed(node: Node, digits: int) -> int:
    sign, amount = SIGNS.get(said(node, "CdtDbtInd")), said(node, "Amt")
    if sign is None:
        raise CannotRead("An amount does not say whether it came in or went out.")
    if not UNSIGNED.fullmatch(amount):
        raise CannotRead(f'"{amount[:30]}" is no amount of a camt.053 file.')
    return sign * minor(amount, digits=digits)


def _day(node: Node, *path: str) -> date:
    text = said(node, *path, "Dt") or said(node, *path, "DtTm")
    found = ISO_DAY.fullmatch(text)
    if found is None:
        raise CannotRead(f'"{text[:30]}" is no date of a camt.053 file.' if text else "A date is missing.")
    return day(found[1], found[2], found[3])


def _line(node: Node, *, digits: int, otherwise: date) -> Line:
    amount = _signed(node, digits)
    booked = next((_day(node, name) for name in ("BookgDt", "ValDt") if below(node, name)), otherwise)
    who, words = _who(node, came_in=amount > 0), _words(node)
    reference = said(node, "AcctSvcrRef")
    identity = f"reference {reference}" if reference.upper() not in NO_REFERENCE else f"{_ends(node)} {who} {words}"
    return Line(on=booked, amount_minor=amount, identity=identity, who=who[:140], words=words[:500])


def _who(node: Node, *, came_in: bool) -> str:
    """Who stands at the other end; a batch names its first few."""
    role, path = ("Dbtr" if came_in else "Cdtr"), ("NtryDtls", "TxDtls", "RltdPties")
    names = [said(one, "Nm") or said(one, "Pty", "Nm") for one in below(node, *path, role)]
    return ", ".join(dict.fromkeys(name for name in names if name))


def _words(node: Node) -> str:
    found = [
        *below(node, "NtryDtls", "TxDtls", "RmtInf", "Ustrd"),
        *below(node, "NtryDtls", "TxDtls", "RmtInf", "Strd", "CdtrRefInf", "Ref"),
        *below(node, "NtryDtls", "TxDtls", "AddtlTxInf"),
        *below(node, "AddtlNtryInf"),
    ]
    return " ".join(dict.fromkeys(" ".join((one.text or "").split()) for one in found)).strip()


def _ends(node: Node) -> str:
    return " ".join(one.text or "" for one in below(node, "NtryDtls", "TxDtls", "Refs", "EndToEndId"))
