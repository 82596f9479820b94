"""Makes a backup: copied, opened, audited, synced, and only then given its name.

BackupRefused
├── CopyUnsound      the copy was audited and something is off
└── BackupThere      one with this name was made in this very second
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from datetime import datetime
from importlib import import_module
from pathlib import Path

from django.conf import settings
from django.db import connection

from config.backups import media, outliving, sets
from config.backups.sets import UNFINISHED, Backup, BackupRefused, Manifest

LAST_ENTRY = "SELECT id, digest FROM ledger_entry ORDER BY id DESC LIMIT 1"
MIGRATIONS = "SELECT app, name FROM django_migrations WHERE app IN ('clinic', 'ledger') ORDER BY name"


class CopyUnsound(BackupRefused):
    def __init__(self, said: str) -> None:
        super().__init__(f"The copy was opened and audited, and something is off, so it does not count: {said}")


class BackupThere(BackupRefused):
    def __init__(self, folder: Path) -> None:
        super().__init__(f"{folder} is there already. Nothing was changed. Try again in a second.")


def engine():
    """Return the module that copies this database engine."""
    return import_module(f"config.backups.{connection.vendor}")


def make(*, root: Path, at: datetime, name: str = "", rehearse: bool = False) -> Backup:
    """Make a backup of the books and the media files under `root` and return it.

    The media are copied after the books: a file is there before the row that names it, and none is removed but a copy
    of a gift file in which somebody was erased.
    With `rehearse` the copy is brought to this version of the program before it is audited; the checks that would
    miss the new guards on it are skipped until then.

    :raises BackupRefused: when the copy cannot be made or is not sound; nothing is left of it then.
    """
    folder = root / (name or f"{at:%Y-%m-%d-%H%M%S}")
    unfinished = folder.with_name(folder.name + UNFINISHED)
    if folder.exists():
        raise BackupThere(folder)
    root.mkdir(parents=True, exist_ok=True, mode=0o700)
    shutil.rmtree(unfinished, ignore_errors=True)
    unfinished.mkdir(mode=0o700)
    try:
        engine().copy_into(unfinished)
        files = media.pack(Path(settings.MEDIA_ROOT), unfinished / media.PART)
        manifest = _checked(unfinished, at=at, files=files, rehearse=rehearse)
        sets.write(unfinished, manifest)
        for path in (*unfinished.iterdir(), unfinished):
            sets.synced(path)
        unfinished.rename(folder)
        sets.synced(root)
        outliving.spread(root)
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    return Backup(folder=folder, manifest=manifest)


def thin_out(*, root: Path, keep: int) -> list[Path]:
    """Remove all but the latest `keep` backups; return those that were removed."""
    old = [backup.folder for backup in sets.backups(root)[keep:]]
    for folder in old:
        shutil.rmtree(folder)
    return old


def _checked(folder: Path, *, at: datetime, files: int, rehearse: bool) -> Manifest:
    ours = engine()
    if faults := ours.faults(folder):
        raise CopyUnsound(faults[0])
    with ours.trial(folder) as url:
        last = ours.asked(folder, url, LAST_ENTRY) or [(0, "")]
        migrations = dict(ours.asked(folder, url, MIGRATIONS))
        if rehearse:
            _managed(url, "migrate", "--verbosity", "0", "--skip-checks")
        checks = json.loads(_managed(url, "audit_books", "--json"))["checks"]
    return Manifest(
        made_at=at,
        engine=connection.vendor,
        migrations=migrations,
        last_entry=last[0][0],
        last_digest=last[0][1],
        checks=checks,
        media_files=files,
        parts={name: sets.part_of(folder / name) for name in (ours.PART, media.PART)},
    )


def _managed(url: str, *words: str) -> str:
    """Run one of the program's commands on the copy, in a process of its own."""
    done = subprocess.run(  # noqa: S603  our own program, and no shell reads the words
        [sys.executable, str(settings.BASE_DIR / "manage.py"), *words],
        env={**os.environ, "DATABASE_URL": url},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise CopyUnsound(_sentence(done.stdout) or done.stderr.strip().rpartition("\n")[2])
    return done.stdout


def _sentence(said: str) -> str:
    try:
        return json.loads(said)["findings"][0]
    except (ValueError, KeyError, IndexError):
        return ""
