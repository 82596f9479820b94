"""Copies a SQLite database by the engine's own online backup, and puts a copy in its place."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import quote

from django.db import connection

from config.backups.sets import BackupRefused, synced
from config.databases import BUSY_SECONDS

PART = "books.sqlite3"
BESIDE = ("-wal", "-shm", "-journal")


class DatabaseInUse(BackupRefused):
    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is in use. Nothing was changed. Stop the server, then restore again.")


def database() -> Path:
    return Path(connection.settings_dict["NAME"])


def copy_into(folder: Path) -> None:
    """Copy the database while others go on reading and writing: the copy is one moment of it.

    In one step: a copy in small steps begins anew at each write and may never end.
    """
    with (
        closing(sqlite3.connect(database(), timeout=BUSY_SECONDS)) as source,
        closing(sqlite3.connect(folder / PART)) as target,
    ):
        source.backup(target)


def faults(folder: Path) -> list[str]:
    """Return what the engine itself finds wrong with the copy."""
    with closing(sqlite3.connect(folder / PART)) as copy:
        found = [row[0] for row in copy.execute("PRAGMA integrity_check") if row[0] != "ok"]
        lost = copy.execute("PRAGMA foreign_key_check").fetchall()
    return found + [f"a row of {row[0]} names one that is not there" for row in lost]


@contextmanager
def trial(folder: Path) -> Iterator[str]:
    """Yield the address of a scratch database made from the copy; the copy itself stays untouched."""
    scratch = folder / "trial.sqlite3"
    shutil.copyfile(folder / PART, scratch)
    try:
        yield f"sqlite:///{quote(str(scratch))}"
    finally:
        for suffix in ("", *BESIDE):
            scratch.with_name(scratch.name + suffix).unlink(missing_ok=True)


def asked(folder: Path, url: str, statement: str) -> list[tuple]:
    with closing(sqlite3.connect(folder / PART)) as copy:
        return copy.execute(statement).fetchall()


def stands() -> bool:
    """Say whether there is a database in the place already."""
    return database().exists() and database().stat().st_size > 0


def place(folder: Path, *, kept: str) -> Path | None:
    """Put the copy in the database's place; return where the one that stood there is kept.

    :raises DatabaseInUse: when somebody is writing or, with a write-ahead log, reading there.
    """
    path, old = database(), None
    path.parent.mkdir(parents=True, exist_ok=True)
    connection.close()
    coming = path.with_name(f"{path.name}.coming")
    shutil.copyfile(folder / PART, coming)
    synced(coming)
    if stands():
        _settle(path)
        old = path.with_name(f"{path.name}.{kept}")
        for suffix in ("", *BESIDE):
            if (beside := path.with_name(path.name + suffix)).exists():
                beside.rename(old.with_name(old.name + suffix))
    for suffix in BESIDE:  # what a lost database left behind would be played into the new one
        path.with_name(path.name + suffix).unlink(missing_ok=True)
    coming.rename(path)
    synced(path.parent)
    connection.guards_seen = False
    return old


def _settle(path: Path) -> None:
    """Bring the old database to rest, all in one file; a broken one is moved as it is."""
    try:
        with closing(sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)) as old:
            old.execute("PRAGMA journal_mode = DELETE")
            old.execute("BEGIN EXCLUSIVE")
            old.execute("COMMIT")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise DatabaseInUse(path) from None
    except sqlite3.DatabaseError:
        return
