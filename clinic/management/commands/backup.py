"""Makes a backup of the books and the media files, audited before it counts."""

import json
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser

from clinic.management.plain import PlainCommand
from config import clock, upgrade
from config.backups import making
from config.backups.sets import Backup, BackupRefused


class Command(PlainCommand):
    help = "Copy the books and the media files into a folder of their own, and audit the copy before it counts."
    example = """
example:
  ./run manage backup
  ./run manage backup --to /mnt/elsewhere --keep 30

Others go on working meanwhile. Keep some backups on another machine: a copy beside the original burns with it.
Exit status: 0 a sound backup stands, 1 none was made (one sentence says why), 2 the database is not ready.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", default="", help="the folder of backups (default: BACKUP_ROOT, else var/backups)")
        parser.add_argument("--keep", type=int, default=0, help="afterwards remove all but the latest so many")
        parser.add_argument("--json", dest="as_json", action="store_true", help="print what was made as JSON")

    def handle(self, *, to: str, keep: int, as_json: bool, **options: Any) -> None:
        if keep < 0:
            self.bad_input(f"--keep takes a number of backups, such as 30, not {keep}.")
        if upgrade.pending():
            self.bad_input("This database is not up to date. Start once with ./run, which backs it up and updates it.")
        root = Path(to) if to else Path(settings.BACKUP_ROOT)
        try:
            made = making.make(root=root, at=clock.real_now())
            gone = making.thin_out(root=root, keep=keep) if keep else []
        except (BackupRefused, OSError) as refused:
            self.stderr.write(str(refused))
            sys.exit(1)
        self.stdout.write(_as_json(made) if as_json else _as_words(made, len(gone)))


def _as_json(made: Backup) -> str:
    held = made.manifest
    return json.dumps(
        {
            "folder": str(made.folder),
            "last_entry": held.last_entry,
            "check_number": held.last_digest,
            "checks": held.checks,
            "media_files": held.media_files,
            "bytes": held.bytes,
        },
        indent=2,
    )


def _as_words(made: Backup, gone: int) -> str:
    held = made.manifest
    last = f"up to entry {held.last_entry}, check number {held.last_digest[:12]}" if held.last_entry else "no entry yet"
    said = f"{made.folder}: {last}; {held.media_files} media files; {held.checks} promises asked of the copy, all kept."
    return said + (f" {gone} older removed." if gone else "")
