"""A backup as it stands in its folder: what belongs to it, and whether it is still whole.

BackupRefused
├── ManifestMissing   a folder without a manifest, or with one that cannot be read
└── PartDamaged       a part is missing or is not what it was
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from config.refusal import Refusal

FORM = 1
MANIFEST = "manifest.json"
UNFINISHED = ".unfinished"


class BackupRefused(Refusal):
    """No backup was made, or none was put back."""


class ManifestMissing(BackupRefused):
    def __init__(self, folder: Path) -> None:
        super().__init__(f"{folder} is no backup: there is no {MANIFEST} in it that can be read. Nothing was changed.")


class PartDamaged(BackupRefused):
    def __init__(self, part: Path) -> None:
        super().__init__(
            f"{part} is missing or is not what it was when the backup was made. Nothing was changed. "
            "Take an older backup, or another copy of this one."
        )


@dataclass(frozen=True, kw_only=True)
class Part:
    sha256: str
    bytes: int


@dataclass(frozen=True, kw_only=True)
class Manifest:
    """What the backup holds. `migrations` name the version of the program by the last of each room."""

    made_at: datetime
    engine: str
    migrations: dict[str, str]
    last_entry: int
    last_digest: str
    checks: int
    media_files: int
    parts: dict[str, Part]

    @property
    def bytes(self) -> int:
        return sum(part.bytes for part in self.parts.values())


@dataclass(frozen=True, kw_only=True)
class Backup:
    folder: Path
    manifest: Manifest


def part_of(path: Path) -> Part:
    digest = hashlib.sha256()
    with path.open("rb") as content:
        while block := content.read(1 << 20):
            digest.update(block)
    return Part(sha256=digest.hexdigest(), bytes=path.stat().st_size)


def write(folder: Path, manifest: Manifest) -> None:
    said = {"form": FORM, **asdict(manifest), "made_at": manifest.made_at.isoformat()}
    (folder / MANIFEST).write_text(json.dumps(said, indent=2) + "\n")


def read(folder: Path) -> Backup:
    """Read what a folder says of itself, without looking at its parts.

    :raises ManifestMissing: when it says nothing that can be read.
    """
    try:
        return Backup(folder=folder, manifest=_manifest(json.loads((folder / MANIFEST).read_text())))
    except (OSError, ValueError, KeyError, TypeError):
        raise ManifestMissing(folder) from None


def whole(folder: Path) -> Backup:
    """Read a backup and compare each part with its digest.

    :raises BackupRefused: when it cannot be read or a part has changed.
    """
    backup = read(folder)
    for name, part in backup.manifest.parts.items():
        path = folder / name
        if not path.is_file() or part_of(path) != part:
            raise PartDamaged(path)
    return backup


def backups(root: Path) -> tuple[Backup, ...]:
    """Return the backups under `root`, the latest first; what is unfinished or no backup is left out."""
    found = []
    for folder in root.iterdir() if root.is_dir() else ():
        if folder.is_dir() and not folder.name.endswith(UNFINISHED):
            try:
                found.append(read(folder))
            except ManifestMissing:
                continue
    return tuple(sorted(found, key=lambda backup: backup.manifest.made_at, reverse=True))


def synced(path: Path) -> None:
    """Wait until the disk has a file or a folder's list of names."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _manifest(said: dict[str, Any]) -> Manifest:
    if said.pop("form") != FORM:
        raise ValueError
    parts = {name: Part(**part) for name, part in said.pop("parts").items()}
    return Manifest(**{**said, "made_at": datetime.fromisoformat(said["made_at"]), "parts": parts})
