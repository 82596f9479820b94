"""Copies a PostgreSQL database with the server's own programs, and puts a copy in its place.

BackupRefused
├── ProgramMissing     pg_dump or pg_restore is not on this machine
└── ProgramFailed      one of them refused; its own words follow
"""

from __future__ import annotations

import os
import secrets
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote, unquote, urlsplit

import psycopg
from django.db import connection
from psycopg import sql

from config.backups.sets import BackupRefused

PART = "books.dump"
NO_TABLES = "SELECT count(*) FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace"


class ProgramMissing(BackupRefused):
    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name} is not on this machine, so nothing was done. "
            "Install the PostgreSQL client programs of the server's version (postgresql-client), then try again."
        )


class ProgramFailed(BackupRefused):
    def __init__(self, name: str, said: str) -> None:
        last = said.strip().rpartition("\n")[2] or "it did not say why"
        super().__init__(f"{name} refused, so nothing was changed: {last}")


def database() -> str:
    return str(connection.settings_dict["NAME"])


def copy_into(folder: Path) -> None:
    """Copy the database while others go on reading and writing: the copy is one moment of it."""
    _call("pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--file={folder / PART}", name=database())


def faults(folder: Path) -> list[str]:
    """The trial reads every row back and builds every constraint anew, so there is nothing to ask before it."""
    return []


@contextmanager
def trial(folder: Path) -> Iterator[str]:
    """Yield the address of a scratch database made from the copy.

    :raises BackupRefused: when the role may not make a database, or the copy does not go back in.
    """
    scratch = f"{database()[:40]}_trial_{secrets.token_hex(4)}"
    _create(scratch)
    try:
        _restore(folder, scratch)
        yield address(scratch)
    finally:
        _statement(f"DROP DATABASE IF EXISTS {_quoted(scratch)}")


def asked(folder: Path, url: str, statement: str) -> list[tuple]:
    with psycopg.connect(url) as copy:
        return copy.execute(statement.encode()).fetchall()


def stands() -> bool:
    """Say whether there are tables in the place already."""
    with psycopg.connect(address(database())) as there:
        return there.execute(NO_TABLES).fetchone() != (0,)


def place(folder: Path, *, kept: str) -> str | None:
    """Put the copy in the database's place; return the name under which the one that stood there is kept.

    :raises BackupRefused: when the server refuses, or somebody is still connected to the database.
    """
    connection.close()
    connection.guards_seen = False
    name = database()
    if not stands():
        _restore(folder, name)
        return None
    coming, old = f"{name[:40]}_coming", f"{name[:40]}_{kept.replace('-', '_')}"
    _statement(f"DROP DATABASE IF EXISTS {_quoted(coming)}")
    _create(coming)
    _restore(folder, coming)
    _statement(f"ALTER DATABASE {_quoted(name)} RENAME TO {_quoted(old)}")
    _statement(f"ALTER DATABASE {_quoted(coming)} RENAME TO {_quoted(name)}")
    return old


def address(name: str, *, with_password: bool = True) -> str:
    """Return the address of another database on the same server, under the same role."""
    url = urlsplit(os.environ["DATABASE_URL"])
    place = url.netloc
    if not with_password and url.password is not None:
        place = f"{url.username}@{place.rpartition('@')[2]}"
    return url._replace(scheme="postgresql", netloc=place, path=f"/{quote(name)}").geturl()


def _create(name: str) -> None:
    _statement(f"CREATE DATABASE {_quoted(name)} TEMPLATE template0 ENCODING 'UTF8'")


def _restore(folder: Path, name: str) -> None:
    words = ("--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction", f"{folder / PART}")
    _call("pg_restore", *words, name=name)


def _statement(statement: str) -> None:
    """Run a statement about databases, from the server's own database."""
    try:
        with psycopg.connect(address("postgres"), autocommit=True) as server:
            server.execute(statement.encode())
    except psycopg.Error as error:
        raise ProgramFailed("The server", str(error)) from None


def _quoted(name: str) -> str:
    return sql.Identifier(name).as_string()


def _call(program: str, *words: str, name: str) -> None:
    password = urlsplit(os.environ["DATABASE_URL"]).password
    environment = {**os.environ, **({"PGPASSWORD": unquote(password)} if password else {})}
    done = subprocess.run(  # noqa: S603  the program is the server's own, and no shell reads the words
        [_program(program), f"--dbname={address(name, with_password=False)}", *words],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise ProgramFailed(program, done.stderr)


def _program(name: str) -> str:
    """Return the newest of the program's versions: an older one does not read a newer server."""
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), key=lambda path: int(path.parts[4]))
    program = str(found[-1]) if found else shutil.which(name)
    if program is None:
        raise ProgramMissing(name)
    return program
