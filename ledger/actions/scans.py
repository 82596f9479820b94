"""Hangs a scan on an entry (H2)."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from config.refusal import Refusal
from config.uploads import KeptFile
from ledger import posting
from ledger.models import Entry, Scan


class ScanNameless(Refusal):
    field = "name"

    def __init__(self) -> None:
        super().__init__("Say what the paper is, such as: invoice 17. Nothing was kept.")


@transaction.atomic
def hang(*, key: UUID, number: int, name: str, file: KeptFile, by: int, at: datetime) -> Scan:
    """Hang a kept file on entry `number`; the same file hangs on an entry once.

    :raises ScanNameless: when nobody says what it is.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    posting.lock()
    if known := Scan.objects.filter(key=key).first():
        if (known.entry_id, known.name, known.sha256) != (number, name.strip(), file.sha256):
            raise posting.KeyUsedBefore
        return known
    if not name.strip():
        raise ScanNameless
    if there := Scan.objects.filter(entry=number, sha256=file.sha256).first():
        return there
    return Scan.objects.create(
        key=key,
        entry=Entry.objects.get(id=number),
        name=name.strip(),
        sha256=file.sha256,
        content_type=file.content_type,
        size=file.size,
        by=by,
        at=at,
    )
