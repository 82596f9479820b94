"""Bank files: bringing one, saying what a table's columns hold, and taking in its statements, each line once.

BankFileRefused
├── StatementCannotStand   a statement cannot be taken in as it is
└── ColumnsUnclear         a table without its day or amounts, or one column for two things
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from hashlib import sha256
from uuid import UUID, uuid4

from django.db import transaction

from config import uploads
from ledger import posting
from ledger.formulas import bank_tables
from ledger.models import BankAccount, BankFile, BankLine, BankLineWords, BankStatement
from ledger.queries import bank_files as queries
from ledger.queries.bank_files import AccountUnsaid, BankFileRefused, Judged
from ledger.queries.holder import holder


class StatementCannotStand(BankFileRefused):
    """What was said of the statement."""


class ColumnsUnclear(BankFileRefused):
    field = ""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} Nothing was saved.")


@transaction.atomic
def bring(
    *,
    key: UUID,
    content: bytes,
    name: str,
    account: str = "",
    closing_minor: int | None = None,
    by: int | None,
    at: datetime,
) -> BankFile:
    """Keep a file of the bank; the same file again is found. A table goes under its account, by name.

    :raises BankFileRefused, TableRefused, MarkupRefused: when it cannot be read whole.
    """
    form, owner = queries.form_of(content), None
    gone = BankFile.objects.filter(sha256=sha256(content).hexdigest(), copy_gone_on__isnull=False).first()
    if gone:
        raise queries.CopyGone(gone.copy_gone_on)
    if form == BankFile.Form.TABLE:
        queries.table_of(content, BankAccount.objects.filter(name=account.strip()).first())
        owner = named(key=key, name=account, by=by)
    else:
        queries.read(content)
    kept = uploads.keep_made(content, queries.content_type_of(content))
    found, _ = BankFile.objects.get_or_create(
        sha256=kept.sha256,
        defaults={
            "content_type": kept.content_type,
            "name": name[:120],
            "form": form,
            "account": owner,
            "closing_minor": closing_minor if owner else None,
            "brought_by": by,
            "brought_at": at,
        },
    )
    if owner and not found.statements.exists() and (found.account, found.closing_minor) != (owner, closing_minor):
        found.account, found.closing_minor = owner, closing_minor
        found.save()
    return found


def named(*, key: UUID, name: str, by: int | None) -> BankAccount:
    """Return the account of a name, made on its first table.

    :raises AccountUnsaid: without a name.
    """
    books = holder()
    if not name.strip() or books is None:
        raise AccountUnsaid
    made, _ = BankAccount.objects.get_or_create(
        name=name.strip()[:80], defaults={"key": key, "currency": books.currency, "made_by": by}
    )
    return made


@transaction.atomic
def say(*, account: BankAccount, columns: Mapping[str, str], decimal: str, day_first: bool | None) -> BankAccount:
    """Say what the columns of an account's tables hold.

    :raises ColumnsUnclear: when day or amount is missing, or one column holds two things.
    """
    heads = {meaning: head for meaning, head in columns.items() if head and meaning in bank_tables.MEANINGS}
    if not bank_tables.is_said(dict.fromkeys(heads, 0)):
        raise ColumnsUnclear(bank_tables.NEEDED_WORDS)
    if len(set(heads.values())) != len(heads):
        raise ColumnsUnclear("One column is said to hold two things.")
    account.columns, account.decimal, account.day_first = heads, decimal, day_first
    account.save()
    return account


def judge(*, content: bytes, account: str = "", closing_minor: int | None = None, today: date) -> tuple[Judged, ...]:
    """Return what a file would add; nothing is kept.

    :raises BankFileRefused, TableRefused, MarkupRefused: as taking it in would.
    """
    books, owner = holder(), BankAccount.objects.filter(name=account.strip()).first()
    if owner is None and account.strip() and books:
        owner = BankAccount(name=account.strip()[:80], currency=books.currency)
    statements = queries.read(content, account=owner, closing_minor=closing_minor)
    there = owner if owner and owner.pk else None
    return _standing(queries.judged(statements, form=queries.form_of(content), today=today, account=there))


@transaction.atomic
def take_in(*, file: BankFile, today: date, by: int | None, at: datetime) -> tuple[Judged, ...]:
    """Take in the statements of a file, all or none; what is here already adds nothing.

    :raises BankFileRefused, TableRefused, MarkupRefused: when one of them cannot be.
    """
    posting.lock()
    found = _standing(queries.judged_file(file=file, today=today))
    for one in found:
        if not one.is_known:
            _keep(one, file=file, by=by, at=at)
    return found


def _standing(found: tuple[Judged, ...]) -> tuple[Judged, ...]:
    if obstacle := next((one.obstacle for one in found if one.obstacle), None):
        raise StatementCannotStand(obstacle)
    return found


def _keep(one: Judged, *, file: BankFile, by: int | None, at: datetime) -> BankStatement:
    said = one.statement
    made = BankStatement.objects.create(
        account=_account(one, by),
        file=file,
        content=one.content,
        reference=said.reference,
        from_on=said.from_on,
        to_on=said.to_on,
        opening_minor=said.opening_minor,
        moved_minor=said.moved_minor,
        known_minor=one.known_minor,
        closing_minor=said.closing_minor,
        opening_told=said.opening_told,
        taken_by=by,
        taken_at=at,
    )
    _lines(made, one.new)
    return made


def _lines(made: BankStatement, lines: Sequence) -> None:
    rows = BankLine.objects.bulk_create(
        [
            BankLine(
                account=made.account,
                statement=made,
                identity=line.identity,
                on=line.on,
                amount_minor=line.amount_minor,
            )
            for line in lines
        ],
        batch_size=500,
    )
    BankLineWords.objects.bulk_create(
        [
            BankLineWords(line=row, who=line.who, words=line.words)
            for row, line in zip(rows, lines, strict=True)
            if line.who or line.words
        ],
        batch_size=500,
    )


def _account(one: Judged, by: int | None) -> BankAccount:
    if one.account_id is not None:
        return BankAccount.objects.get(id=one.account_id)
    account, said = one.statement.account, one.statement
    name = account[:80] if not BankAccount.objects.filter(name=account[:80]).exists() else f"{account[:60]} (file)"
    made, _ = BankAccount.objects.get_or_create(
        identifier=account[:120],
        defaults={"key": uuid4(), "name": name, "currency": said.currency, "made_by": by},
    )
    return made
