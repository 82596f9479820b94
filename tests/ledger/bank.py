"""Bank files of an invented account, for tests: the same movements in each form that a bank may give."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import date, timedelta
from xml.sax.saxutils import escape

from ledger.actions import bank_files
from ledger.models import BankFile
from tests.ledger import make

ACCOUNT, LAST = "LARK 0007", make.oct(31)
Moved = tuple[date, int, str, str]  # day, minor units, who, words


def digits(minor: int, mark: str = ".") -> str:
    return f"{'-' if minor < 0 else ''}{abs(minor) // 100}{mark}{abs(minor) % 100:02}"


def camt(moved: Sequence[Moved], *, opening: int = 0, closing: int | None = None, currency: str = "USD") -> bytes:
    """An ISO 20022 statement; the reference of each line is its place and its words."""
    closing = opening + sum(one[1] for one in moved) if closing is None else closing
    first = min(one[0] for one in moved) - timedelta(days=1)
    body = _balance("OPBD", opening, first, currency)
    body += _balance("CLBD", closing, max(one[0] for one in moved), currency)
    body += "".join(_entry(one, currency) for one in moved)
    return (
        '<?xml version="1.0"?><Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.08"><BkToCstmrStmt><Stmt>'
        f"<Id>S</Id><Acct><Id><IBAN>{ACCOUNT}</IBAN></Id></Acct>{body}</Stmt></BkToCstmrStmt></Document>"
    ).encode()


def _balance(code: str, minor: int, on: date, currency: str) -> str:
    return f"<Bal><Tp><CdOrPrtry><Cd>{code}</Cd></CdOrPrtry></Tp>{_amount(minor, currency)}<Dt><Dt>{on}</Dt></Dt></Bal>"


def _amount(minor: int, currency: str) -> str:
    way = "CRDT" if minor >= 0 else "DBIT"
    return f'<Amt Ccy="{currency}">{digits(abs(minor))}</Amt><CdtDbtInd>{way}</CdtDbtInd>'


def _entry(one: Moved, currency: str) -> str:
    on, minor, who, words = one[0], one[1], escape(one[2]), escape(one[3])
    role = "Dbtr" if minor >= 0 else "Cdtr"
    return (
        f"<Ntry>{_amount(minor, currency)}<Sts><Cd>BOOK</Cd></Sts><BookgDt><Dt>{on}</Dt></BookgDt><NtryDtls><TxDtls>"
        f"<RltdPties><{role}><Pty><Nm>{who}</Nm></Pty></{role}></RltdPties><RmtInf><Ustrd>{words}</Ustrd></RmtInf>"
        "</TxDtls></NtryDtls></Ntry>"
    )


def ofx(moved: Sequence[Moved], *, closing: int, currency: str = "USD") -> bytes:
    lines = "\n".join(
        f"<STMTTRN><TRNTYPE>OTHER<DTPOSTED>{on:%Y%m%d}<TRNAMT>{digits(minor)}<FITID>{place}-{words}"
        f"<NAME>{who}<MEMO>{words}</STMTTRN>"
        for place, (on, minor, who, words) in enumerate(moved)
    )
    last = max(one[0] for one in moved)
    return (
        f"OFXHEADER:100\nDATA:OFXSGML\nVERSION:102\nENCODING:USASCII\nCHARSET:1252\n\n<OFX><BANKMSGSRSV1><STMTTRNRS>"
        f"<STMTRS><CURDEF>{currency}<BANKACCTFROM><ACCTID>{ACCOUNT}</BANKACCTFROM><BANKTRANLIST>{lines}</BANKTRANLIST>"
        f"<LEDGERBAL><BALAMT>{digits(closing)}<DTASOF>{last:%Y%m%d}</LEDGERBAL></STMTRS></STMTTRNRS></BANKMSGSRSV1></OFX>"
    ).encode("cp1252")


def table(moved: Sequence[Moved], *, opening: int | None = 0, separator: str = ",", downwards: bool = True) -> bytes:
    """A table; with an opening balance it shows the balance after each line."""
    heads = ["Date", "Name", "Details", "Amount", *(["Balance"] if opening is not None else [])]
    rows, standing = [], opening or 0
    for on, minor, who, words in moved:
        standing += minor
        rows.append([f"{on}", who, words, digits(minor), *([digits(standing)] if opening is not None else [])])
    text = io.StringIO()
    csv.writer(text, delimiter=separator).writerows([heads, *(rows if downwards else rows[::-1])])
    return text.getvalue().encode()


def taken(content: bytes, *, account: str = "", closing_minor: int | None = None, today: date = LAST):
    """Bring a file and take it in."""
    file = brought(content, account=account, closing_minor=closing_minor)
    return bank_files.take_in(file=file, today=today, by=make.BOOKKEEPER, at=make.at(today))


def brought(content: bytes, *, account: str = "", closing_minor: int | None = None) -> BankFile:
    return bank_files.bring(
        key=make.key(f"account {account}"),
        content=content,
        name="october",
        account=account,
        closing_minor=closing_minor,
        by=make.BOOKKEEPER,
        at=make.at(make.oct(31)),
    )
