"""The backups that stand, and how old the last good one is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from django.conf import settings

from clinic.models import House
from clinic.queries.demo import is_demo
from config.backups import sets
from ledger.queries.books import began_at

MOST = timedelta(days=1)
SHOWN = 60


@dataclass(frozen=True, kw_only=True)
class BackupLine:
    name: str
    made_at: datetime  # in the house's zone
    last_entry: int
    check_number: str
    checks: int
    media_files: int
    size: str


@dataclass(frozen=True, kw_only=True)
class Backups:
    place: str
    lines: tuple[BackupLine, ...]
    is_demo: bool
    more: int


@dataclass(frozen=True, kw_only=True)
class Overdue:
    """No good backup for more than a day; `last_at` is None when there was never one."""

    days: int
    last_at: datetime | None


def backups() -> Backups:
    zone = ZoneInfo(House.objects.get().time_zone)
    found = sets.backups(Path(settings.BACKUP_ROOT))
    return Backups(
        place=str(settings.BACKUP_ROOT),
        lines=tuple(_line(backup, zone) for backup in found[:SHOWN]),
        is_demo=is_demo(),
        more=max(0, len(found) - SHOWN),
    )


def overdue(*, moment: datetime) -> Overdue | None:
    """Say since when a backup is missing; None while the last one, or the first entry, is a day old at most.

    Invented books need none, and where the clock is held still nothing grows old.
    """
    if settings.AS_OF or is_demo():
        return None
    found = sets.backups(Path(settings.BACKUP_ROOT))
    last_at = found[0].manifest.made_at if found else None
    since = last_at or began_at()
    if since is None or moment - since <= MOST:
        return None
    return Overdue(days=(moment - since).days, last_at=last_at)


def _line(backup: sets.Backup, zone: ZoneInfo) -> BackupLine:
    held = backup.manifest
    return BackupLine(
        name=backup.folder.name,
        made_at=held.made_at.astimezone(zone),
        last_entry=held.last_entry,
        check_number=held.last_digest[:12],
        checks=held.checks,
        media_files=held.media_files,
        size=_size(held.bytes),
    )


def _size(count: int) -> str:
    """Write a size as people read it.

    >>> _size(812), _size(2_345_678), _size(1_234_567_890)
    ('1 KB', '2.3 MB', '1.2 GB')
    """
    for unit, name in ((10**9, "GB"), (10**6, "MB")):
        if count >= unit:
            return f"{count * 10 // unit / 10:.1f} {name}"
    return f"{-(-count // 1000)} KB"
