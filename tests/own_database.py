"""The database of a run of tests: where it lies, and how it is as new after a test that committed what it wrote.

Append-only rows cannot be deleted by the application's own way. On SQLite the file is put back as its migrations made
it; on PostgreSQL the rows are deleted as a replica would delete them, past every trigger (for which the role must be a
superuser, as the throwaway cluster's is), or, where they are many, their tables are emptied.
"""

import shutil
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TypeVar

from django.db import connection, transaction

from config import triggers

IN_MEMORY = Path("/dev/shm")  # what is lost with the power may lie there: no test pulls that plug
ENOUGH = 2**30
PATIENCE = 20
MANY = 500  # rows from which deleting leaves more dead ones than the next test should read past
Made = TypeVar("Made")
AS_MADE: dict[str, sqlite3.Connection] = {}  # by alias; a connection of its own is met under a running event loop
NEVER_WRITTEN = {"django_migrations", "django_content_type", "auth_permission"}


@contextmanager
def in_memory() -> Iterator[None]:
    """Let SQLite's file lie where writing it through costs nothing, if there is room."""
    roomy = IN_MEMORY.is_dir() and shutil.disk_usage(IN_MEMORY).free > ENOUGH
    if connection.vendor != "sqlite" or not roomy:
        yield
        return
    with tempfile.TemporaryDirectory(prefix="ward-tests-", dir=IN_MEMORY) as folder:
        test = connection.settings_dict["TEST"]
        test["NAME"] = str(Path(folder) / Path(test["NAME"]).name)
        yield


@contextmanager
def remembered() -> Iterator[None]:
    """Keep the file as its migrations made it, for `renew`."""
    if connection.vendor != "sqlite":
        yield
        return
    connection.ensure_connection()
    with closing(sqlite3.connect(":memory:", check_same_thread=False)) as kept:
        connection.connection.backup(kept)
        AS_MADE[connection.alias] = kept
        yield
        del AS_MADE[connection.alias]


@contextmanager
def arranged(blocker, build: Callable[[], Made]) -> Iterator[Made]:
    """Arrange rows once for the tests of a module, each of which undoes only what it did itself; none may commit."""
    outer = transaction.atomic()
    outer._from_testcase = True  # as a test's own block is one: what wants to be outermost may run inside
    with blocker.unblock():
        outer.__enter__()
    try:
        with blocker.unblock():
            made = build()
        yield made
    finally:
        with blocker.unblock():
            transaction.set_rollback(True)
            outer.__exit__(None, None, None)


def renew() -> None:
    """Make the database as it was before its first test, its guards too."""
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        AS_MADE[connection.alias].backup(connection.connection, progress=_patient())
    else:
        _delete_every_row()
    if triggers.verify(connection):
        triggers.install(connection)
    connection.guards_seen = False


def _patient():
    """Return what ends the wait for somebody who still reads or writes the file."""
    until = time.monotonic() + PATIENCE

    def progress(status: int, remaining: int, total: int) -> None:
        if remaining and time.monotonic() > until:
            raise TimeoutError("Another connection still holds the database of the test that has ended.")

    return progress


def _delete_every_row() -> None:
    from ledger.models import accounts, books

    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        tables = set(connection.introspection.table_names(cursor)) - NEVER_WRITTEN
        asked = (
            f"SELECT '{table}', EXISTS (SELECT 1 FROM {table} OFFSET {MANY}) WHERE EXISTS (SELECT 1 FROM {table})"
            for table in sorted(tables)
        )
        cursor.execute(" UNION ALL ".join(asked))
        written = cursor.fetchall()
        if any(has_many for _, has_many in written):
            cursor.execute(f"TRUNCATE {', '.join(table for table, _ in written)} CASCADE")
        else:
            for table, _ in written:
                cursor.execute(f"DELETE FROM {table}")
        books.seed(connection.alias)
        accounts.seed(connection.alias)
