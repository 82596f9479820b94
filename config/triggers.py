"""Installs, lifts and verifies the triggers that a room writes down for each database engine.

A room keeps its trigger text in `<room>/triggers/sqlite.py` and `<room>/triggers/postgresql.py`. Each module has
TRIGGERS, a tuple of Trigger; the one for PostgreSQL also has FUNCTIONS, a tuple of Function. Triggers are lifted
only before a migration and around the flush of a test database.
"""

from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec

from config.refusal import Refusal

ROOMS = ("ledger", "clinic")


class GuardsMissing(Refusal):
    """The triggers that keep the rows as they were written are not all in place."""

    def __init__(self, sentences: list[str]) -> None:
        super().__init__(
            "The books are not guarded, so nothing was written. Run manage.py migrate --skip-checks and try again. "
            + sentences[0]
        )


@dataclass(frozen=True)
class Trigger:
    """One trigger: `sql` is what follows its name in CREATE TRIGGER, for example "BEFORE DELETE ON x ..."."""

    name: str
    table: str
    sql: str


@dataclass(frozen=True)
class Function:
    """One PostgreSQL trigger function: `body` is plpgsql from DECLARE or BEGIN to END."""

    name: str
    body: str


def install(connection, *rooms: str) -> None:
    """Put every trigger of `rooms` (default: of the whole house) in place, anew."""
    with connection.cursor() as cursor:
        for module in _modules(connection, rooms):
            for function in getattr(module, "FUNCTIONS", ()):
                cursor.execute(_create_function(function))
            for trigger in module.TRIGGERS:
                cursor.execute(_drop(connection, trigger))
                cursor.execute(f"CREATE TRIGGER {trigger.name} {trigger.sql}")
    connection.guards_seen = False


def lift(connection, *rooms: str) -> None:
    with connection.cursor() as cursor:
        for module in _modules(connection, rooms):
            for trigger in module.TRIGGERS:
                cursor.execute(_drop(connection, trigger))
    connection.guards_seen = False


def verify(connection, *rooms: str) -> list[str]:
    """Return a sentence for each trigger that is missing, switched off or not as it was written."""
    seen = _seen(connection)
    return [
        f"The trigger {trigger.name} on {trigger.table} is missing or not as it was written."
        for module in _modules(connection, rooms)
        for trigger in module.TRIGGERS
        if seen.get(trigger.name) != _expected(connection, module, trigger)
    ]


def require(connection, *rooms: str) -> None:
    """Stop here unless every trigger is in place; each connection is asked once.

    :raises GuardsMissing: when one is not.
    """
    if getattr(connection, "guards_seen", False):
        return
    sentences = verify(connection, *rooms)
    if sentences:
        raise GuardsMissing(sentences)
    connection.guards_seen = True


def is_migrated(connection, table: str) -> bool:
    return table in connection.introspection.table_names()


def _modules(connection, rooms: tuple[str, ...]) -> list:
    names = (f"{room}.triggers.{connection.vendor}" for room in rooms or ROOMS)
    return [import_module(name) for name in names if find_spec(name)]


def _drop(connection, trigger: Trigger) -> str:
    where = f" ON {trigger.table}" if connection.vendor == "postgresql" else ""
    return f"DROP TRIGGER IF EXISTS {trigger.name}{where}"


def _create_function(function: Function) -> str:
    return (
        f"CREATE OR REPLACE FUNCTION {function.name}() RETURNS trigger LANGUAGE plpgsql AS $body${function.body}$body$"
    )


def _expected(connection, module, trigger: Trigger) -> str:
    if connection.vendor == "sqlite":
        return _squeeze(f"CREATE TRIGGER {trigger.name} {trigger.sql}")
    name = trigger.sql.rpartition("EXECUTE FUNCTION ")[2].partition("(")[0]
    body = next(function.body for function in module.FUNCTIONS if function.name == name)
    return f"{trigger.table} {_squeeze(body)}"


def _seen(connection) -> dict[str, str]:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            return {name: _squeeze(sql) for name, sql in cursor.fetchall()}
        cursor.execute(
            "SELECT t.tgname, c.relname, p.prosrc FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
            " JOIN pg_proc p ON p.oid = t.tgfoid WHERE NOT t.tgisinternal AND t.tgenabled IN ('O', 'A')"
        )
        return {name: f"{table} {_squeeze(body)}" for name, table, body in cursor.fetchall()}


def _squeeze(text: str) -> str:
    return " ".join(text.split())
