"""Runs the suite on SQLite and then on PostgreSQL; `--soak` runs the random and crash tests with full counts."""

import os
import secrets
import subprocess
import sys

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
        words = ["-m", "random", *words]

    environment.pop("DATABASE_URL", None)
    print("== on SQLite", flush=True)
    on_sqlite = subprocess.run(["pytest", *words], env=environment, check=False).returncode

    programs = binaries()
    if programs is None:
        print("!! PostgreSQL IS NOT ON THIS MACHINE: NOTHING WAS TESTED ON IT.", file=sys.stderr, flush=True)
        return on_sqlite or (1 if os.environ.get("CI") else 0)
    marks = "not browser and random" if soak else "not browser"
    with cluster(programs) as url:
        print("== on PostgreSQL", flush=True)
        on_postgresql = subprocess.run(
            ["pytest", *[word for word in words if word not in {"-m", "random"}], "-m", marks],
            env={**environment, "DATABASE_URL": url},
            check=False,
        ).returncode
    # A selection that leaves nothing for one engine (pytest's 5) is no failure when the other ran it.
    results = {on_sqlite, on_postgresql}
    return 5 if results == {5} else max(results - {5})


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
