"""System checks: what the databases were told is read back from them."""

from django.core import checks
from django.db import connections

from config.databases import journal_mode, wal_is_safe


@checks.register(checks.Tags.database)
def engine_settings(app_configs=None, databases=None, **kwargs):
    """Read back from each engine what the settings asked for (house.E001, house.E002, house.I001)."""
    found: list[checks.CheckMessage] = []
    for alias in databases or []:
        connection = connections[alias]
        read = _sqlite if connection.vendor == "sqlite" else _postgresql
        found += read(connection)
    return found


def _sqlite(connection) -> list[checks.CheckMessage]:
    memory = "memory" in str(connection.settings_dict["NAME"])
    wanted = {
        "journal_mode": "memory" if memory else journal_mode().lower(),
        "synchronous": "2",
        "foreign_keys": "1",
        "recursive_triggers": "1",
        "busy_timeout": "20000",
    }
    found: list[checks.CheckMessage] = []
    with connection.cursor() as cursor:
        for name, value in wanted.items():
            is_now = str(cursor.execute(f"PRAGMA {name}").fetchone()[0]).lower()
            if is_now != value:
                found.append(checks.Error(f"SQLite's {name} is {is_now}, not {value}.", id="house.E001"))
    if not wal_is_safe():
        found.append(
            checks.Info(
                "This SQLite can damage a database in WAL mode, so the rollback journal is used. It is safe; "
                "writing waits a little longer for long reads.",
                id="house.I001",
            )
        )
    return found


def _postgresql(connection) -> list[checks.CheckMessage]:
    with connection.cursor() as cursor:
        cursor.execute("SHOW transaction_isolation")
        isolation = cursor.fetchone()[0]
        cursor.execute("SHOW synchronous_commit")
        commit = cursor.fetchone()[0]
    found: list[checks.CheckMessage] = []
    if isolation != "read committed":
        found.append(checks.Error(f"Transactions are {isolation}, not read committed.", id="house.E002"))
    if commit == "off":
        found.append(checks.Error("synchronous_commit is off: a power cut could lose a posted entry.", id="house.E002"))
    return found
