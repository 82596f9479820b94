"""Puts a backup back and audits what stands then."""

import sys
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import CommandParser
from django.db import connection

from clinic import audit as care
from clinic.management.plain import PlainCommand
from config import clock, triggers, upgrade
from config.backups import restoring
from config.backups.sets import BackupRefused
from ledger import audit as books


class Command(PlainCommand):
    help = "Put a backup back, into an empty place or (--replace) in the place of what stands there."
    example = """
example:
  ./run manage restore var/backups/2026-10-14-030000 --check
  ./run manage restore var/backups/2026-10-14-030000 --replace

Stop the server first. What stood there before is kept beside it, and its place is printed.
Exit status: 0 restored, and every promise is kept; 1 refused, or the audit found something; one sentence says what.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", help="the folder of one backup")
        parser.add_argument("--replace", action="store_true", help="put it in the place of what stands there")
        parser.add_argument("--check", action="store_true", help="say whether it is whole, change nothing")

    def handle(self, *, folder: str, replace: bool, check: bool, **options: Any) -> None:
        try:
            if check:
                held = restoring.check(Path(folder)).manifest
                self.stdout.write(f"{folder} is whole, up to entry {held.last_entry}. Nothing was changed.")
                return
            restored = restoring.restore(folder=Path(folder), replace=replace, at=clock.real_now())
        except (BackupRefused, OSError) as refused:
            self.stderr.write(str(refused))
            sys.exit(1)
        for place in restored.kept:
            self.stdout.write(f"What stood there is kept at {place}.")
        if upgrade.pending():
            call_command("migrate", verbosity=0)
        restoring.put_back.send(sender=Command, folder=Path(folder))
        findings = [*triggers.verify(connection), *books.audit().findings, *care.audit().findings]
        if findings:
            self.stderr.write("\n".join([*findings, "The backup stands in its place, but the audit found this."]))
            sys.exit(1)
        self.stdout.write(f"Restored up to entry {restored.backup.manifest.last_entry}; every promise is kept.")
