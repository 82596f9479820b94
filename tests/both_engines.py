"""Runs the suite on both engines at once, then in two browsers; `--soak` runs random and crash tests in full."""

import os
import secrets
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.throwaway_postgres import binaries, cluster

GATE_SEED = "20261014"


def main(words: list[str]) -> int:
    soak = "--soak" in words
    words = [word for word in words if word != "--soak"]
    environment = dict(os.environ)
    # The gate tries the same cases each time; a soak tries others, and says which.
    environment.setdefault("RANDOM_SEED", str(secrets.randbelow(2**32)) if soak else GATE_SEED)
    print(f"seed {environment['RANDOM_SEED']} (set RANDOM_SEED to run the same again)", flush=True)
    words = [f"--hypothesis-seed={environment['RANDOM_SEED']}", *words]
    if soak:
        environment["SOAK"] = "1"
        words = [*words, "-m", "random"]

    environment.pop("DATABASE_URL", None)
    programs = binaries()
    if programs is None:
        print("!! PostgreSQL IS NOT ON THIS MACHINE: NOTHING WAS TESTED ON IT.", file=sys.stderr, flush=True)
        return _run("SQLite", words, environment) or (1 if os.environ.get("CI") else 0)
    if soak:
        with cluster(programs) as url:
            results = {
                _run("SQLite", words, environment),
                _run("PostgreSQL", [*words, "-m", "not browser and random"], {**environment, "DATABASE_URL": url}),
            }
    else:
        results = _side_by_side(words, environment, programs)
    # A selection that leaves nothing for one engine (pytest's 5) is no failure when the other ran it.
    return 5 if results == {5} else max(results - {5})


def _side_by_side(words: list[str], environment: dict[str, str], programs: Path) -> set[int]:
    """Run both engines at once, each on a core of its own; then the browser, its journeys beside every page."""
    with cluster(programs) as url:
        on_engines = _at_once(
            ("SQLite", [*words, "-m", "not browser"], environment),
            ("PostgreSQL", [*words, "-m", "not browser"], {**environment, "DATABASE_URL": url}),
        )
    return on_engines | _at_once(
        ("SQLite, journeys in the browser", [*words, "-m", "browser and not every_page"], environment),
        ("SQLite, every page in the browser", [*words, "-m", "browser and every_page"], environment),
    )


def _at_once(one: tuple[str, list[str], dict[str, str]], other: tuple[str, list[str], dict[str, str]]) -> set[int]:
    """Run two selections side by side; what the second says stands after the first."""
    where, words, environment = other
    with tempfile.TemporaryFile("w+") as said:
        beside = subprocess.Popen(["pytest", *words], env=environment, stdout=said, stderr=subprocess.STDOUT)
        results = {_run(*one), beside.wait()}
        said.seek(0)
        print(f"== on {where}", said.read(), sep="\n", flush=True)
    return results


def _run(where: str, words: list[str], environment: dict[str, str]) -> int:
    print(f"== on {where}", flush=True)
    return subprocess.run(["pytest", *words], env=environment, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
