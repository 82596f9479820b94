"""Runs a command against a PostgreSQL cluster that lives only as long as the command.

python tests/throwaway_postgres.py pytest tests/ledger
"""

import contextlib
import os
import pwd
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path


def binaries() -> Path | None:
    """Return the newest PostgreSQL's folder of programs, or None."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"), key=lambda path: int(path.parts[4]))
    if found:
        return found[-1].parent
    on_path = shutil.which("postgres")
    return Path(on_path).parent if on_path else None


@contextlib.contextmanager
def cluster(programs: Path) -> Iterator[str]:
    """Start a cluster on a socket in a folder of its own; yield its DATABASE_URL."""
    folder = Path(tempfile.mkdtemp(prefix="ward-pg-", dir="/tmp"))
    owner = _owner()
    if owner:
        os.chown(folder, owner.pw_uid, owner.pw_gid)
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PG")}
    environment["HOME"] = str(folder)

    def call(*command: object) -> None:
        subprocess.run(
            [str(word) for word in command],
            check=True,
            cwd=folder,
            env=environment,
            stdout=subprocess.DEVNULL,
            user=owner.pw_uid if owner else None,
            group=owner.pw_gid if owner else None,
            extra_groups=[] if owner else None,
        )

    # What only a crash of the machine would need is left out; what a statement does is as anywhere.
    unsafe = "-c fsync=off -c full_page_writes=off -c wal_level=minimal -c max_wal_senders=0"
    settings = f"-k {folder} -c listen_addresses= {unsafe} -c max_connections=60"
    try:
        call(
            programs / "initdb",
            "-N",
            "-A",
            "trust",
            "-U",
            "ward",
            "-E",
            "UTF8",
            "--locale=C.UTF-8",
            folder / "data",
        )
        call(programs / "pg_ctl", "-w", "-D", folder / "data", "-l", folder / "log", "-o", settings, "start")
        try:
            call(programs / "createdb", "-h", folder, "-U", "ward", "ward")
            yield f"postgresql://ward@{str(folder).replace('/', '%2F')}/ward"
        finally:
            call(programs / "pg_ctl", "-w", "-m", "immediate", "-D", folder / "data", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _owner() -> pwd.struct_passwd | None:
    """The server refuses to run as root: return the user it runs as instead, or None when nobody is root."""
    if os.geteuid() != 0:
        return None
    for name in ("postgres", "nobody"):
        with contextlib.suppress(KeyError):
            return pwd.getpwnam(name)
    return None


def main(command: list[str]) -> int:
    programs = binaries()
    if programs is None:
        print("PostgreSQL was not found on this machine: nothing ran.", file=sys.stderr)
        return 2
    with cluster(programs) as url:
        return subprocess.run(command, env={**os.environ, "DATABASE_URL": url}, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
