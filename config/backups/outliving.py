"""What must outlive every copy: who was erased, and whose papers were destroyed.

Two lists beside the backups, since a copy made before holds both still. They hold ids and no names; a copy that is put
back is told by them what to do again.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from django.conf import settings

LIST, DESTROYED = "erased.json", "destroyed.json"


@dataclass(frozen=True, kw_only=True)
class Erased:
    """One id that was erased or destroyed, the day, by whom and why."""

    key: str
    on: str
    by: int
    why: str


def write_down(lines: Iterable[Erased], *, name: str = LIST) -> None:
    """Add to the list beside the backups; it stands on the disk when this returns."""
    _write(Path(settings.BACKUP_ROOT), [*lines], name)


def strike(lines: Iterable[Erased], *, name: str = LIST) -> None:
    """Take lines off again: nothing was done after all."""
    root, gone = Path(settings.BACKUP_ROOT), {line.key for line in lines}
    _put(root, [line for line in read(root, name=name) if line.key not in gone], name)


def spread(root: Path) -> None:
    """Put the lists beside backups that are kept elsewhere."""
    for name in (LIST, DESTROYED):
        if (ours := read(Path(settings.BACKUP_ROOT), name=name)) or read(root, name=name):
            _write(root, ours, name)


def read(*roots: Path, name: str = LIST) -> list[Erased]:
    """Return what the lists in these folders say together, each id once."""
    found: dict[str, Erased] = {}
    for root in roots:
        path = root / name
        for line in json.loads(path.read_text()) if path.is_file() else ():
            found.setdefault(line["key"], Erased(**line))
    return list(found.values())


def _write(root: Path, lines: list[Erased], name: str) -> None:
    known = read(root, name=name)
    keys = {line.key for line in known}
    _put(root, [*known, *(line for line in lines if line.key not in keys)], name)


def _put(root: Path, lines: list[Erased], name: str) -> None:
    root.mkdir(parents=True, exist_ok=True, mode=0o700)
    draft = root / f"{name}.{os.getpid()}.new"
    with draft.open("w") as file:
        json.dump([asdict(line) for line in lines], file, indent=1)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(root / name)
