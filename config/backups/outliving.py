"""The list of who was erased: kept beside the backups, since a copy made before holds them still.

It holds ids and no names. A copy that is put back is told by it whom to erase again.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from django.conf import settings

LIST = "erased.json"


@dataclass(frozen=True, kw_only=True)
class Erased:
    """One erased id, the day, by whom and why."""

    key: str
    on: str
    by: int
    why: str


def write_down(lines: Iterable[Erased]) -> None:
    """Add to the list beside the backups; it stands on the disk when this returns."""
    _write(Path(settings.BACKUP_ROOT), [*lines])


def strike(lines: Iterable[Erased]) -> None:
    """Take lines off again: nothing was erased after all."""
    root, gone = Path(settings.BACKUP_ROOT), {line.key for line in lines}
    _put(root, [line for line in read(root) if line.key not in gone])


def spread(root: Path) -> None:
    """Put the list beside backups that are kept elsewhere."""
    if (ours := read(Path(settings.BACKUP_ROOT))) or read(root):
        _write(root, ours)


def read(*roots: Path) -> list[Erased]:
    """Return what the lists in these folders say together, each id once."""
    found: dict[str, Erased] = {}
    for root in roots:
        path = root / LIST
        for line in json.loads(path.read_text()) if path.is_file() else ():
            found.setdefault(line["key"], Erased(**line))
    return list(found.values())


def _write(root: Path, lines: list[Erased]) -> None:
    known = read(root)
    keys = {line.key for line in known}
    _put(root, [*known, *(line for line in lines if line.key not in keys)])


def _put(root: Path, lines: list[Erased]) -> None:
    root.mkdir(parents=True, exist_ok=True, mode=0o700)
    draft = root / f"{LIST}.{os.getpid()}.new"
    with draft.open("w") as file:
        json.dump([asdict(line) for line in lines], file, indent=1)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(root / LIST)
