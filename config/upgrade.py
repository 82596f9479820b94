"""Brings a database to this version before it is served: a backup, the migrations, the guards, the audit."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from config import triggers
from config.backups import making
from config.backups.sets import Backup
from config.refusal import Refusal


class NotGuarded(Refusal):
    """The database was brought up to date, but its guards are not all in place."""


class NotClean(Refusal):
    """The database was brought up to date, and then its audit found something."""

    def __init__(self, finding: str, copy: Backup | None) -> None:
        back = f" Put the copy from before back: ./run manage restore {copy.folder} --replace" if copy else ""
        super().__init__(f"After the update the audit found this, so nothing is served: {finding}{back}")


def pending() -> bool:
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def upgrade(*, root: Path, at: datetime, audit: Callable[[], list[str]], with_backup: bool = True) -> Backup | None:
    """Migrate when there is something to migrate; return the backup that was made before.

    The migrations are rehearsed on the backup's copy first, so that one which fails leaves the database as it was.

    :raises BackupRefused: when the backup cannot be made, or the rehearsal fails.
    :raises NotGuarded: when a trigger is missing afterwards.
    :raises NotClean: when the audit finds something afterwards.
    """
    if not pending():
        _require_guards()
        return None
    copy = None
    if with_backup and "django_migrations" in connection.introspection.table_names():
        copy = making.make(root=root, at=at, name=f"before-upgrade-{at:%Y-%m-%d-%H%M%S}", rehearse=True)
    call_command("migrate", verbosity=0)
    _require_guards()
    if findings := audit():
        raise NotClean(findings[0], copy)
    return copy


def _require_guards() -> None:
    if sentences := triggers.verify(connection):
        raise NotGuarded(sentences[0])
