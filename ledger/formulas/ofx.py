"""OFX, the bank's answer for an account: the older form, whose tags need not be closed, and the same as XML.

Amounts are signed as the customer sees them; FITID identifies a transaction within its account (OFX 11.4.2.3.1,
published). The form knows no opening balance: it follows from the ledger balance and what moved.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from ledger.formulas.bank_files import (
    CannotRead,
    Line,
    Node,
    Statement,
    below,
    day,
    digest,
    digits_of,
    footed,
    minor,
    one_currency,
    said,
)

HEADER = re.compile(r"^([A-Z]+):[ \t]*(\S*)[ \t]*$", re.MULTILINE)
CHARSETS = {"1252": "cp1252", "ISO-8859-1": "latin-1", "8859-1": "latin-1", "NONE": "cp1252", "": "cp1252"}
TOKEN = re.compile(r"<(/?)([A-Za-z][A-Za-z0-9._-]*)\s*(/?)>([^<]*)")
CDATA = re.compile(r"<!\[CDATA\[(.*?)\]\]>", re.DOTALL)
MARKS = (("&lt;", "<"), ("&gt;", ">"), ("&quot;", '"'), ("&apos;", "'"), ("&nbsp;", " "), ("&amp;", "&"))
MOST_DEPTH, MOST_ELEMENTS = 64, 1_000_000
# What holds other elements and is always closed; an empty tag of another name is a fact that says nothing.
HOLDERS = {
    "OFX", "BANKMSGSRSV1", "CREDITCARDMSGSRSV1", "SIGNONMSGSRSV1", "SONRS", "STATUS", "STMTTRNRS", "STMTRS",
    "BANKACCTFROM", "BANKTRANLIST", "STMTTRN", "LEDGERBAL", "AVAILBAL", "CURRENCY", "ORIGCURRENCY", "PAYEE",
}  # fmt: skip
MOMENT = re.compile(r"([0-9]{4})([0-9]{2})([0-9]{2})(?:[0-9]{2,6}(?:\.[0-9]{1,3})?)?(?:\s*\[[^\]]{0,30}\])?")
NONE_THERE = "The file has no statement of a bank account."
BROKEN = "The file is broken or cut off. Take it out of the bank's pages once more."


@dataclass(kw_only=True, slots=True)
class Element:
    """An element of the older form."""

    tag: str
    text: str | None = ""
    parts: list[Element] = field(default_factory=list)

    def __iter__(self) -> Iterator[Element]:
        return iter(self.parts)


def decoded(content: bytes) -> str:
    """Return the words of a file of the older form: UTF-8 where it is, else by its header.

    :raises CannotRead: where a byte is no letter of the charset.
    """
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        charset = "utf-16"
    else:
        header = dict(HEADER.findall(content[:1000].decode("latin-1").replace("\r", "\n")))
        charset = CHARSETS.get(header.get("CHARSET", "").upper(), "")
    for attempt in ("utf-8-sig", charset):
        try:
            return content.decode(attempt)
        except (UnicodeDecodeError, LookupError):
            continue
    raise CannotRead("The file has letters that are not of the charset it names.")


def tree(text: str) -> Element:
    """Return the elements of the older form.

    >>> found = tree("OFXHEADER:100\\n<OFX><STATUS><CODE>0<SEVERITY>INFO</STATUS></OFX>")
    >>> said(found, "STATUS", "CODE"), said(found, "STATUS", "SEVERITY")
    ('0', 'INFO')

    :raises CannotRead: when it is not whole.
    """
    begun = text.upper().find("<OFX>")
    body = CDATA.sub(lambda found: found[1].replace("&", "&amp;").replace("<", "&lt;"), text[max(begun, 0) :]).rstrip()
    root = Element(tag="")
    stack, leaf, place, made_so_far = [root], "", 0, 0
    while place < len(body):
        token, made_so_far = TOKEN.match(body, place), made_so_far + 1
        is_over = len(stack) == 1 and bool(root.parts)
        if token is None or is_over or len(stack) > MOST_DEPTH or made_so_far > MOST_ELEMENTS:
            raise CannotRead(BROKEN)
        closes, tag, is_empty, words = token[1], token[2].upper(), token[3], token[4].strip()
        place = token.end()
        if closes:
            if words or not (tag == leaf or _close(stack, tag)):
                raise CannotRead(BROKEN)
        else:
            made = Element(tag=tag, text=_plain(words))
            stack[-1].parts.append(made)
            if not words and not is_empty:
                stack.append(made)
        leaf = tag if words and not closes else ""
    if len(stack) != 1 or not root.parts:
        raise CannotRead(BROKEN)
    return root.parts[0]


def _close(stack: list[Element], tag: str) -> bool:
    """Close the innermost element of this name; what stands empty within it held nothing."""
    while len(stack) > 1:
        last = stack.pop()
        if last.tag == tag:
            return True
        if last.tag in HOLDERS:
            return False
        stack[-1].parts += last.parts
        last.parts = []
    return False


def _plain(words: str) -> str:
    for mark, letter in MARKS:
        words = words.replace(mark, letter)
    return words


def statements(root: Node) -> tuple[Statement, ...]:
    """Return the statements of bank accounts in a file.

    :raises CannotRead: when it has none, or one of them cannot be.
    """
    answers = below(root, "BANKMSGSRSV1", "STMTTRNRS")
    if root.tag != "OFX" or not answers:
        cards = below(root, "CREDITCARDMSGSRSV1")
        raise CannotRead(
            "This is the statement of a card." if cards else "The file has no statement of a bank account."
        )
    if any(said(answer, "STATUS", "SEVERITY") == "ERROR" for answer in answers):
        raise CannotRead("The bank answered with an error instead of a statement.")
    found = [_statement(one) for answer in answers for one in below(answer, "STMTRS")]
    if not found:
        raise CannotRead(NONE_THERE)
    return tuple(found)


def _statement(node: Node) -> Statement:
    movements, balance = below(node, "BANKTRANLIST", "STMTTRN"), below(node, "LEDGERBAL")
    # ORIGCURRENCY names what an amount was converted from; CURRENCY, what it is still in.
    currency = one_currency([said(node, "CURDEF"), *(said(one, "CURRENCY", "CURSYM") for one in movements)])
    if not balance:
        raise CannotRead("A statement has no ledger balance.")
    digits, to_on = digits_of(currency), _day(said(balance[0], "DTASOF"))
    lines = _once([_line(one, digits=digits) for one in movements])
    closing = minor(said(balance[0], "BALAMT"), digits=digits)
    days = [line.on for line in lines]
    begun = [_day(text) for text in [said(node, "BANKTRANLIST", "DTSTART")] if text]
    return footed(
        Statement(
            account=" ".join(
                filter(None, (said(node, "BANKACCTFROM", "BANKID"), said(node, "BANKACCTFROM", "ACCTID")))
            ),
            currency=currency,
            reference="",
            from_on=min([*begun, to_on, *days]),
            to_on=max([to_on, *days]),
            opening_minor=closing - sum(line.amount_minor for line in lines),
            closing_minor=closing,
            opening_told=False,
            lines=tuple(line for line in lines if line.amount_minor),
        )
    )


def _line(node: Node, *, digits: int) -> Line:
    fitid = said(node, "FITID")
    if not fitid:
        raise CannotRead("A transaction has no FITID, so nobody could tell it from another.")
    if said(node, "CORRECTFITID"):
        raise CannotRead(f"The bank corrects an earlier transaction by {fitid[:40]}, which is taken up by hand.")
    who = said(node, "NAME") or said(node, "PAYEE", "NAME")
    memo, check = said(node, "MEMO"), said(node, "CHECKNUM")
    words = " ".join(filter(None, (memo if memo != who else "", f"check {check}" if check else "")))
    return Line(
        on=_day(said(node, "DTPOSTED")),
        amount_minor=minor(said(node, "TRNAMT"), digits=digits),
        identity=digest(f"fitid {fitid}"),
        who=who[:140],
        words=words[:500],
    )


def _once(lines: list[Line]) -> list[Line]:
    found: dict[str, Line] = {}
    for line in lines:
        if found.setdefault(line.identity, line) != line:
            raise CannotRead("Two different transactions have one FITID.")
    return list(found.values())


def _day(text: str) -> date:
    found = MOMENT.fullmatch(text)
    if found is None:
        raise CannotRead(f'"{text[:30]}" is no date of an OFX file.' if text else "A date is missing.")
    return day(found[1], found[2], found[3])
