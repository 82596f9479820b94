"""Puts a backup back: into an empty place, or in the place of what stands there, which is kept beside it.

BackupRefused
├── PlaceTaken      there is a database or media files already, and nobody said to replace them
├── EngineDiffers   a copy of one engine does not go into the other
└── VersionAhead    a newer version of the program made the backup
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.dispatch import Signal

from config.backups import media, sets
from config.backups.making import engine
from config.backups.sets import Backup, BackupRefused

# Sent when a copy stands in its place again. A room then repeats what must outlive every copy, such as an erasure.
put_back = Signal()


class PlaceTaken(BackupRefused):
    def __init__(self, what: object) -> None:
        super().__init__(
            f"{what} is not empty. Nothing was changed. "
            "Say --replace to put the backup in its place; what stands there is then kept beside it."
        )


class EngineDiffers(BackupRefused):
    def __init__(self, made_by: str, here: str) -> None:
        super().__init__(f"This backup was made on {made_by} and does not go into {here}. Nothing was changed.")


class VersionAhead(BackupRefused):
    def __init__(self) -> None:
        super().__init__(
            "A newer version of Ward & Ledger made this backup. Nothing was changed. Restore it with that version."
        )


@dataclass(frozen=True, kw_only=True)
class Restored:
    backup: Backup
    kept: tuple[str, ...]  # where what stood there before is kept


def check(folder: Path) -> Backup:
    """Say whether a backup could be put back here; nothing is changed.

    :raises BackupRefused: when it is damaged, of the other engine, or of a newer version.
    """
    backup = sets.whole(folder)
    if backup.manifest.engine != connection.vendor:
        raise EngineDiffers(backup.manifest.engine, connection.vendor)
    known = MigrationLoader(None, ignore_no_migrations=True).disk_migrations
    if any(migration not in known for migration in backup.manifest.migrations.items()):
        raise VersionAhead
    return backup


def restore(*, folder: Path, replace: bool, at: datetime) -> Restored:
    """Put the books and the media files back.

    :raises BackupRefused: when it cannot be; everything is then as it was.
    """
    backup, ours, root = check(folder), engine(), Path(settings.MEDIA_ROOT)
    if not replace:
        if ours.stands():
            raise PlaceTaken(ours.database())
        if not media.is_empty(root):
            raise PlaceTaken(root)
    coming = media.unpack(folder / media.PART, root)
    kept = f"replaced-{at:%Y%m%d-%H%M%S}"
    books = ours.place(folder, kept=kept)
    files = media.place(coming, root, kept=kept)
    return Restored(backup=backup, kept=tuple(str(old) for old in (books, files) if old))
