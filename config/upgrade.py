"""Brings a database to this version before it is served: a copy first, then the migrations, then the guards."""

from datetime import datetime
from pathlib import Path

from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from config import triggers


class NotGuarded(Exception):
    """The database was brought up to date, but its guards are not all in place."""


def pending() -> bool:
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def upgrade(*, backups: Path, at: datetime) -> Path | None:
    """Migrate when there is something to migrate; return the copy that was made of a SQLite file before it.

    :raises NotGuarded: when a trigger is missing afterwards.
    """
    copy = None
    if pending():
        copy = _copy(backups, at) if connection.introspection.table_names() else None
        call_command("migrate", verbosity=0)
    sentences = triggers.verify(connection)
    if sentences:
        raise NotGuarded(sentences[0])
    return copy


def _copy(backups: Path, at: datetime) -> Path | None:
    """Copy a SQLite database by its own means; a PostgreSQL server has its own backups."""
    if connection.vendor != "sqlite":
        return None
    backups.mkdir(parents=True, exist_ok=True)
    copy = backups / f"before-upgrade-{at:%Y%m%d-%H%M%S}.sqlite3"
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(copy)])
    return copy
