"""Prints each promise of speed as a ratio measured in one run, with its bound; exit status 1 when one is missed.

    ./run bench                 all of them, in some half an hour (papers run: 17 minutes); the first builds ten years,
                                12 minutes more
    ./run bench statement       only those whose words hold "statement"

Everything happens in throwaway databases in a folder of its own; the clinic's own is never opened.
"""

import gc
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
Row = tuple[str, float, float]  # what is measured, the ratio, at most


def main(words: list[str]) -> int:
    with tempfile.TemporaryDirectory(prefix="ward-bench-") as folder:
        _prepare(Path(folder))
        missed = 0
        for what, ratio, most in _measured(Path(folder), words):
            missed += ratio > most
            print(f"{what:<75} {ratio:7.2f} x  at most {most:g}{'' if ratio <= most else '  MISSED'}", flush=True)
        _close()
    return 1 if missed else 0


def _measured(folder: Path, words: list[str]) -> Iterator[Row]:
    from tests.benchmarks import (
        bench_care,
        bench_gifts,
        bench_history,
        bench_papers,
        bench_path,
        bench_posting,
        bench_pricing,
        bench_runs,
    )

    groups: tuple[tuple[str, Callable[[], list[Row]]], ...] = (
        ("posting", bench_posting.rows),
        ("gifts from a file", bench_gifts.rows),
        ("staged path", bench_path.rows),
        ("sign off day", bench_care.signing),
        ("pricing day", bench_pricing.rows),
        ("ward sheet", bench_care.sheets),
        ("ward tap", bench_care.taps),
        ("impact statement", bench_papers.statement),
        ("papers run", bench_runs.rows),
        ("build demo", bench_papers.demo),
        ("history", bench_history.rows),
    )
    for name, rows in groups:
        if all(word in name for word in words):
            fresh(folder / f"{name}.sqlite3")
            yield from rows()


def _prepare(folder: Path) -> None:
    """Set Django up on a database of this run's own, and keep a migrated copy to begin each measurement with."""
    sys.path.insert(0, str(ROOT))
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    os.environ["DATABASE_URL"] = f"sqlite:///{folder}/empty.sqlite3"
    os.environ["MEDIA_ROOT"] = f"{folder}/media"
    os.environ["AS_OF"] = "2026-10-14"
    os.environ["ALLOWED_HOSTS"] = "testserver"
    os.environ.setdefault("SECRET_KEY", "benchmarks")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


def undisturbed(work: Callable[[], object]) -> float:
    """Time some work while the collector of garbage rests: its pauses fall now on one side, now on the other."""
    gc.collect()
    gc.disable()
    start = time.perf_counter()
    work()
    spent = time.perf_counter() - start
    gc.enable()
    return spent


def fresh(path: Path) -> None:
    """Go on in an empty, migrated database at `path`."""
    from django.db import connection

    connection.close()
    empty = path.with_name("empty.sqlite3")
    path.write_bytes(empty.read_bytes())
    connection.settings_dict["NAME"] = str(path)
    connection.guards_seen = False


def _close() -> None:
    from django.db import connection

    connection.close()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
