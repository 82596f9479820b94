"""Runs the suite on both engines at once, then in the browser; `--soak` runs random and crash tests in full."""

import os
import secrets
import subprocess
import sys
import tempfile
import time
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from typing import IO

from tests.throwaway_postgres import binaries, cluster

GATE_SEED = "20261014"
CORES = 2


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
    """Run both engines and the browser on two cores: what comes later begins as soon as one before it has ended."""
    with cluster(programs) as url, tempfile.TemporaryDirectory(prefix="ward-bytecode-") as compiled:
        environment = {**environment, "PYTHONPYCACHEPREFIX": compiled}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        selections = (
            ("SQLite", "not browser", environment),
            ("PostgreSQL", "not browser and not no_database and not drawn", {**environment, "DATABASE_URL": url}),
            ("SQLite, every page in the browser", "browser and every_page", environment),
            ("SQLite, journeys in the browser", "browser and not every_page", environment),
        )
        with ThreadPoolExecutor(CORES) as cores, ExitStack() as files:
            begun = []
            for where, marks, its_own in selections:
                said = files.enter_context(tempfile.NamedTemporaryFile("w+"))
                begun.append((where, said, cores.submit(_say_into, said, [*words, "-m", marks], its_own)))
            return {_told(*one) for one in begun}


def _say_into(said: IO[str], words: list[str], environment: dict[str, str]) -> int:
    return subprocess.run(["pytest", *words], env=environment, stdout=said, stderr=subprocess.STDOUT).returncode


def _told(where: str, said: IO[str], ended: "Future[int]") -> int:
    """Print what one selection says while it says it; what others say meanwhile stands after it."""
    print(f"== on {where}", flush=True)
    with open(said.name) as heard:
        while not ended.done():
            time.sleep(1)
            print(heard.read(), end="", flush=True)
        print(heard.read(), end="", flush=True)
    return ended.result()


def _run(where: str, words: list[str], environment: dict[str, str]) -> int:
    print(f"== on {where}", flush=True)
    return subprocess.run(["pytest", *words], env=environment, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
