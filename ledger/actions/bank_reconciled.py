"""Signs the bank as reconciled to a day, and takes that back by name.

PostingRefused
└── SigningRefused
    ├── NotReconciled     nothing stands for a line at the bank, or a statement is missing
    ├── FiguresMoved      they are not those that were shown
    ├── WhyMissing        the books and the bank differed at the beginning, and nobody says why
    └── NothingSigned     nothing is signed to that day, or a later day is
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.models import BankReconciliation
from ledger.posting import PostingRefused
from ledger.queries.bank_reconciled import reconciled


class SigningRefused(PostingRefused):
    """Nothing was signed."""


class NotReconciled(SigningRefused):
    def __init__(self) -> None:
        super().__init__(
            "The bank and the books do not agree to that day: nothing stands for a line, a statement is missing, or "
            "the statements do not reach so far. Nothing was signed. See what is left over."
        )


class FiguresMoved(SigningRefused):
    def __init__(self) -> None:
        super().__init__("The figures have moved since they were shown. Nothing was signed. Read them again.")


class WhyMissing(SigningRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__("The books and the bank differed before the first line: write why. Nothing was signed.")


class NothingSigned(SigningRefused):
    def __init__(self) -> None:
        super().__init__("Nothing is signed to that day, or a later day is. Nothing was changed.")


@transaction.atomic
def sign(
    *, key: UUID, on: date, bank_minor: int, books_minor: int, why: str, by: int, at: datetime
) -> BankReconciliation:
    """Sign that the bank and the books agree to a day, with the figures that were shown.

    :raises SigningRefused: when they do not, or have moved.
    """
    posting.lock()
    if known := BankReconciliation.objects.filter(key=key).first():
        return known
    found = reconciled(on=on)
    if found is None or not found.may_sign:
        raise NotReconciled
    if (found.bank_minor, found.books_minor) != (bank_minor, books_minor):
        raise FiguresMoved
    if found.begun_minor and not why.strip():
        raise WhyMissing
    return BankReconciliation.objects.create(
        key=key,
        on=on,
        as_of=found.as_of,
        bank_minor=bank_minor,
        books_minor=books_minor,
        waiting_minor=found.waiting_minor - found.left_minor,
        begun_minor=found.begun_minor,
        why=why.strip()[:300],
        signed_by=by,
        signed_at=at,
    )


@transaction.atomic
def take_back(*, on: date, by: int) -> BankReconciliation:
    """Take back what was signed to a day, the latest first, by name.

    :raises NothingSigned: when there is none, or a later one.
    """
    posting.lock()
    found = BankReconciliation.objects.filter(undone_by=None).order_by("-on").first()
    if found is None or found.on != on:
        raise NothingSigned
    found.undone_by = by
    found.save(update_fields=["undone_by"])
    return found
