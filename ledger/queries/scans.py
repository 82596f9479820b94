"""The scans that hang on an entry."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from config import home
from ledger.models import Scan


@dataclass(frozen=True, kw_only=True)
class ScanLine:
    scan_id: int
    entry_number: int
    name: str
    sha256: str
    content_type: str
    by_words: str
    at: datetime


def scans(*, number: int) -> tuple[ScanLine, ...]:
    return tuple(_line(row) for row in Scan.objects.filter(entry=number).order_by("id"))


def scan(*, scan_id: int) -> ScanLine | None:
    row = Scan.objects.filter(id=scan_id).first()
    return _line(row) if row else None


def _line(row: Scan) -> ScanLine:
    return ScanLine(
        scan_id=row.id,
        entry_number=row.entry_id,
        name=row.name,
        sha256=row.sha256,
        content_type=row.content_type,
        by_words=home.person(row.by),
        at=row.at,
    )
