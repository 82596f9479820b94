"""Bank files: which form a file has, what its statements say, and what of them is here already.

BankFileRefused
├── BankFileUnread      it cannot be read as it is; the sentence says where
├── CopyGone            its kept copy named somebody whose name was erased
├── OtherCurrency       another money than the books'
└── AccountUnsaid       a table does not say whose movements it lists
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from config import home, markup, tables, uploads
from config.days import day_year
from config.refusal import Refusal
from ledger.formulas import bank_tables, camt053, ofx
from ledger.formulas.bank_files import CannotRead, Line, Statement, digest, written
from ledger.formulas.gift_files import guessed, knowing
from ledger.formulas.typed_cells import Unclear
from ledger.models import BankAccount, BankFile, BankLine, BankReconciliation
from ledger.queries.holder import holder

OFX, CAMT, TABLE = BankFile.Form.OFX, BankFile.Form.CAMT, BankFile.Form.TABLE
BEGINNING = 4096


class BankFileRefused(Refusal):
    field = "file"


class BankFileUnread(BankFileRefused):
    """What the reader said."""


class OtherCurrency(BankFileRefused):
    def __init__(self, theirs: str, ours: str) -> None:
        super().__init__(f"The statement is in {theirs}, and these books are in {ours}. Nothing was read.")


class CopyGone(BankFileRefused):
    def __init__(self, on: date) -> None:
        super().__init__(
            f"The copy of this file was let go on {day_year(on)}: it named somebody whose name was erased. "
            "What was read from it stays. Nothing was read."
        )


class AccountUnsaid(BankFileRefused):
    field = "account"

    def __init__(self) -> None:
        super().__init__("A table does not say whose movements it lists: name the account. Nothing was read.")


@dataclass(frozen=True, kw_only=True)
class JudgedLine:
    line: Line
    is_known: bool


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A statement as it would be taken in. `obstacle` says why it cannot be; `account_id` is None for a new account."""

    statement: Statement
    account_id: int | None
    account_name: str
    content: str
    is_known: bool
    lines: tuple[JudgedLine, ...]
    obstacle: str

    @property
    def new(self) -> tuple[Line, ...]:
        return () if self.is_known else tuple(one.line for one in self.lines if not one.is_known)

    @property
    def known(self) -> int:
        return len(self.lines) - len(self.new)

    @property
    def known_minor(self) -> int:
        return self.statement.moved_minor - sum(line.amount_minor for line in self.new)


def form_of(content: bytes) -> str:
    """Return the form of a file by how it begins."""
    begun = content[:BEGINNING]
    if begun.startswith((b"\xff\xfe", b"\xfe\xff")):
        begun = begun.decode("utf-16", errors="replace").encode()
    plain = begun.lstrip(b"\xef\xbb\xbf \t\r\n").upper()
    if plain.startswith(b"OFXHEADER") or b"<OFX>" in plain:
        return OFX
    return CAMT if plain.startswith(b"<") else TABLE


def content_type_of(content: bytes) -> str:
    return {OFX: uploads.OFX, CAMT: uploads.XML}.get(form_of(content)) or tables.kind_of(content)


def content_of(file: BankFile) -> bytes:
    """Return the bytes of a kept file.

    :raises CopyGone, TableBroken: when its copy was let go, or is no longer what was kept.
    """
    if file.copy_gone_on:
        raise CopyGone(file.copy_gone_on)
    content = uploads.read(sha256=file.sha256, content_type=file.content_type)
    if content is None:
        raise tables.TableBroken
    return content


def read(
    content: bytes, *, account: BankAccount | None = None, closing_minor: int | None = None, currency: str = ""
) -> tuple[Statement, ...]:
    """Return the statements of a file; a table is read as its account has it, in this currency.

    :raises BankFileRefused, TableRefused, MarkupRefused: never half a file.
    """
    form = form_of(content)
    try:
        if form == TABLE:
            if account is None:
                raise AccountUnsaid
            return (_table(table_of(content, account), account, closing_minor, currency or account.currency),)
        if len(content) > markup.MOST_BYTES:
            raise markup.MarkupTooLarge
        if form == CAMT:
            return camt053.statements(markup.read(content))
        is_xml = content.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<?")
        return ofx.statements(markup.read(content) if is_xml else ofx.tree(ofx.decoded(content)))
    except CannotRead as cannot:
        raise BankFileUnread(str(cannot)) from None


def table_of(content: bytes, account: BankAccount | None) -> tables.Table:
    """Return the table of a file, its heads found as those of its account's tables.

    :raises TableRefused: when it cannot be read whole.
    """
    said = account.columns if account else {}
    return tables.read(content, knowing(said, meanings=bank_tables.MEANINGS, is_said=bank_tables.is_said))


@dataclass(frozen=True, kw_only=True)
class Seen:
    """A kept table and how its figures are read; without words where that is not said yet."""

    table: tables.Table
    reading_words: str


def seen(file: BankFile) -> Seen:
    """Return how a kept table is read.

    :raises CopyGone, TableRefused: when there is none, or none that can be read whole.
    """
    table = table_of(content_of(file), file.account)
    known = _known(table, file.account, file.closing_minor, file.account.currency)
    if not bank_tables.is_said(known.columns):
        return Seen(table=table, reading_words="")
    try:
        return Seen(table=table, reading_words=bank_tables.reading([row.cells for row in table.rows], known).words)
    except Unclear:
        return Seen(table=table, reading_words="")


def columns_of(account: BankAccount, table: tables.Table) -> dict[str, int]:
    """Return which column holds what: as it was said for the account, else guessed by the heads."""
    if not account.columns:
        return guessed(table.heads, bank_tables.MEANINGS)
    places = {head: place for place, head in enumerate(table.heads)}
    return {meaning: places[head] for meaning, head in account.columns.items() if head in places}


def _table(table: tables.Table, account: BankAccount, closing_minor: int | None, currency: str) -> Statement:
    known = _known(table, account, closing_minor, currency)
    return bank_tables.statement([(row.line, row.cells) for row in table.rows], known)


def _known(table: tables.Table, account: BankAccount, closing_minor: int | None, currency: str) -> bank_tables.Known:
    return bank_tables.Known(
        account=account.identifier or account.name,
        currency=currency,
        digits=home.digits(),
        columns=columns_of(account, table),
        decimal=account.decimal,
        day_first=account.day_first,
        closing_minor=closing_minor,
    )


def judged(
    statements: Sequence[Statement], *, form: str, today: date, account: BankAccount | None = None
) -> tuple[Judged, ...]:
    """Return what each statement would add.

    :raises OtherCurrency: when one is in another money than the books.
    """
    books = holder()
    ours = books.currency if books else ""
    found, met = [], dict[str, set[str]]()
    for one in statements:
        if one.currency != ours:
            raise OtherCurrency(one.currency, ours or "no currency yet")
        owner = account or BankAccount.objects.filter(identifier=one.account).first()
        before = met.setdefault(one.account, set())
        found.append(_judged(one, owner, before, form=form, today=today))
        before |= {line.identity for line in one.lines} | {found[-1].content}
    return tuple(found)


def judged_file(*, file: BankFile, today: date) -> tuple[Judged, ...]:
    """Return what a kept file would add.

    :raises BankFileRefused, TableRefused, MarkupRefused: when it cannot be read whole.
    """
    content = content_of(file)
    statements = read(content, account=file.account, closing_minor=file.closing_minor)
    return judged(statements, form=file.form, today=today, account=file.account)


def _judged(one: Statement, owner: BankAccount | None, before: set[str], *, form: str, today: date) -> Judged:
    """`before` is what earlier statements of the same file bring: their lines, and themselves."""
    content = digest(" ".join((str(one.from_on), str(one.to_on), str(one.opening_minor), *_identities(one.lines))))
    there = _there(owner, one.lines)
    is_known = content in before or bool(owner and owner.statements.filter(content=content).exists())
    return Judged(
        statement=one,
        account_id=owner.id if owner else None,
        account_name=owner.name if owner else one.account,
        content=content,
        is_known=is_known,
        lines=tuple(
            JudgedLine(line=line, is_known=is_known or line.identity in there or line.identity in before)
            for line in one.lines
        ),
        obstacle="" if is_known else _obstacle(one, owner, there, form=form, today=today),
    )


def _identities(lines: Iterable[Line]) -> list[str]:
    return sorted(line.identity for line in lines)


def _there(owner: BankAccount | None, lines: Sequence[Line]) -> dict[str, BankLine]:
    if owner is None:
        return {}
    found: dict[str, BankLine] = {}
    identities = [line.identity for line in lines]
    for start in range(0, len(identities), 500):
        rows = owner.lines.filter(identity__in=identities[start : start + 500])
        found |= {row.identity: row for row in rows}
    return found


def _obstacle(one: Statement, owner: BankAccount | None, there: dict[str, BankLine], *, form: str, today: date) -> str:
    if not one.account:
        return "A statement does not name its account. Nothing was taken in."
    if late := next((line for line in one.lines if line.on > today), None):
        return f"A line is booked on {late.on}, which has not come yet. Nothing was taken in."
    for line in one.lines:
        row = there.get(line.identity)
        if row and (row.on, row.amount_minor) != (line.on, line.amount_minor):
            shown = written(row.amount_minor, one.currency)
            return f"The line of {row.on} over {shown} was read before, and now says otherwise. Nothing was taken in."
    signed = BankReconciliation.objects.filter(undone_by=None).order_by("-on").first()
    late = next((line for line in one.lines if signed and line.on <= signed.on and line.identity not in there), None)
    if late and signed:
        return (
            f"It has a line of {late.on} that was not here when the bank was signed as reconciled to {signed.on}. "
            "Nothing was taken in. Take that back first."
        )
    other = _other_form(owner, one, form) if owner else None
    if other:
        return (
            f"The lines of {other.on} came in a file of another form before, and would stand here twice. "
            "Nothing was taken in. Take one form for an account, from a day on."
        )
    return ""


def _other_form(owner: BankAccount, one: Statement, form: str) -> BankLine | None:
    days = {line.on for line in one.lines}
    others = owner.lines.filter(on__in=days).exclude(statement__file__form=form)
    return others.order_by("on").first()
