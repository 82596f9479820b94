"""The settings of both database engines, and what must be true of them."""

import os
import sqlite3
from pathlib import Path
from typing import Any

import dj_database_url

BUSY_SECONDS = 20
SQLITE = "config.sqlite3"  # Django's own, with writers who wait for their turn


def wal_is_safe(version: tuple[int, ...] = sqlite3.sqlite_version_info) -> bool:
    """Say whether this SQLite is free of the WAL reset bug.

    3.7.0 to 3.51.2 can corrupt a database when two connections write and checkpoint at once; fixed in
    3.51.3 and 3.53.0 and later, and in the maintained lines 3.50.7 and 3.44.6 (sqlite.org/wal.html).

    >>> [wal_is_safe(v) for v in [(3, 40, 1), (3, 44, 6), (3, 50, 7), (3, 51, 2), (3, 51, 3), (3, 53, 0)]]
    [False, True, True, False, True, True]
    """
    if version[:2] in {(3, 44), (3, 50)}:
        return version >= {(3, 44): (3, 44, 6), (3, 50): (3, 50, 7)}[version[:2]]
    return version >= (3, 51, 3) and version[:2] != (3, 52)


def journal_mode() -> str:
    return "WAL" if wal_is_safe() else "TRUNCATE"


def database(url: str, default_file: Path) -> dict[str, Any]:
    """Return Django's settings for the database at `url`, or for a file when there is none."""
    settings = dict(dj_database_url.parse(url) if url else _file(default_file))
    settings["ATOMIC_REQUESTS"] = False
    if is_file(settings):
        settings["ENGINE"] = SQLITE
        settings["OPTIONS"] = {
            "timeout": BUSY_SECONDS,
            "transaction_mode": "IMMEDIATE",
            "init_command": (
                f"PRAGMA journal_mode={journal_mode()};"
                "PRAGMA synchronous=FULL;PRAGMA foreign_keys=ON;PRAGMA recursive_triggers=ON;"
            ),
        }
    else:
        settings["CONN_MAX_AGE"] = 60
        settings["CONN_HEALTH_CHECKS"] = True
        options = settings.setdefault("OPTIONS", {})
        options.setdefault("options", "-c default_transaction_isolation=read\\ committed -c lock_timeout=20s")
    # A file of its own for each run: runs side by side must not empty each other's database.
    own = str(default_file.with_name(f"test-{os.getpid()}.sqlite3"))
    settings["TEST"] = {"NAME": own} if is_file(settings) else {}
    return settings


def is_file(settings: dict[str, Any]) -> bool:
    return str(settings["ENGINE"]).endswith("sqlite3")


def _file(path: Path) -> dict[str, Any]:
    return {"ENGINE": SQLITE, "NAME": str(path)}
