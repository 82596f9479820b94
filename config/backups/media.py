"""The media files of a backup: photographs and scans in one archive, as they are."""

import shutil
import zipfile
from pathlib import Path

PART = "media.zip"


def pack(root: Path, into: Path) -> int:
    """Write every file under `root` into one archive; return how many there are."""
    count = 0
    with zipfile.ZipFile(into, "w", zipfile.ZIP_STORED) as archive:
        for path in sorted(root.rglob("*")) if root.is_dir() else ():
            if path.is_file():
                archive.write(path, path.relative_to(root))
                count += 1
    return count


def is_empty(root: Path) -> bool:
    return not root.is_dir() or not any(root.iterdir())


def unpack(archive: Path, beside: Path) -> Path:
    """Unpack next to the place where the files will stand, so that one rename puts them there."""
    coming = beside.with_name(f"{beside.name}.coming")
    shutil.rmtree(coming, ignore_errors=True)
    coming.mkdir(parents=True)
    with zipfile.ZipFile(archive) as packed:
        packed.extractall(coming)
    return coming


def place(coming: Path, root: Path, *, kept: str) -> Path | None:
    """Put the unpacked files in their place; return where those that stood there are kept."""
    old = None
    if not is_empty(root):
        old = root.with_name(f"{root.name}.{kept}")
        root.rename(old)
    elif root.is_dir():
        root.rmdir()
    coming.rename(root)
    return old
