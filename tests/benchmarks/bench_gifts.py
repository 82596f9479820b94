"""A giving site's file of many gifts: recorded by the command, against the very rows that it leaves inserted bare.

GIFTS says how many (100,000). Each measurement is made in a process of its own, on a copy of the same arranged books:
`python -m tests.benchmarks.bench_gifts record` runs the command in the database of DATABASE_URL, `... bare LEFT` reads
the rows that the command left in the database LEFT, page by page, and inserts them with one `bulk_create` per table
and page, the triggers lifted; only the inserting counts. Both print seconds and the most memory as JSON.
"""

from __future__ import annotations

import csv
import json
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import uuid
from datetime import date, timedelta
from pathlib import Path

from tests.benchmarks.bench import ROOT

COUNT = int(os.environ.get("GIFTS", "100000"))
DONORS = COUNT // 10
FIRST, DAYS = date(2025, 10, 14), 365
PAGE = 20_000  # entries whose rows the floor inserts at once
MEMORY = 2**30
HEADS = ("Date", "Donor", "E-mail", "Amount", "Fee", "Reference", "Comment", "Frequency")


def rows() -> list[tuple[str, float, float]]:
    """Return (what is measured, the ratio, at most)."""
    with tempfile.TemporaryDirectory(prefix="ward-gifts-") as folder:
        arranged, left, bare = (Path(folder) / f"{name}.sqlite3" for name in ("arranged", "left", "bare"))
        _arrange(arranged, Path(folder))
        shutil.copy(arranged, left)
        shutil.copy(arranged, bare)
        ours = _measured(left, folder, "record", str(Path(folder) / "gifts.csv"))
        floor = _measured(bare, folder, "bare", str(left))
    return [
        (f"recording a file of {COUNT:,} gifts against its rows bare", ours["seconds"] / floor["seconds"], 1 / 0.3),
        (f"memory of recording {COUNT:,} gifts, against one GiB", ours["memory"] / MEMORY, 1),
    ]


def _arrange(path: Path, folder: Path) -> None:
    """Books with two funds, the donors of every second gift, a source whose columns were said, and the file."""
    from clinic.models import House, User
    from ledger.actions import donors, gift_files
    from tests.benchmarks import bench
    from tests.ledger import make

    shutil.copy(Path(os.environ["DATABASE_URL"].removeprefix("sqlite:///")), path.with_name("empty.sqlite3"))
    bench.fresh(path)
    make.books(on=FIRST)
    wound = make.fund("Wound fund", "purpose", purpose={"dressing"})
    House.objects.create(pk=1, name="Larkweir Veterinary Practice", opening_on=FIRST, time_zone="UTC")
    User.objects.create(sign_in="greta", name="Greta", initials="GL")
    newcomers = [
        donors.Newcomer(key=uuid.uuid4(), name=f"Donor {number}", email=f"{number}@mail.example", address="")
        for number in range(0, DONORS, 2)
    ]
    donors.add_all(newcomers, on=FIRST, by=1)
    _write_file(folder / "gifts.csv")
    file = gift_files.bring(
        key=uuid.uuid4(), source="The giving site", content=(folder / "gifts.csv").read_bytes(), name="gifts.csv",
        by=1, at=make.at(FIRST),
    )  # fmt: skip
    meanings = ("on", "name", "email", "gross", "fee", "reference", "words", "often")
    gift_files.say(
        source=file.source, columns=dict(zip(meanings, HEADS, strict=True)), way="giving_site", decimal="",
        day_first=None, fund_id=make.general().id, rules=[("wound", wound.id)],
    )  # fmt: skip


def _write_file(path: Path) -> None:
    """The gifts of a year in the order in which a site lists them: the latest first."""
    dice = random.Random(1)
    with path.open("w", newline="") as out:
        file = csv.writer(out)
        file.writerow(HEADS)
        for number in range(COUNT):
            donor, gross = dice.randrange(DONORS), dice.randint(5_00, 200_00)
            fee = 30 + gross * 29 // 1000
            on = FIRST + timedelta(days=DAYS - number * DAYS // COUNT)
            file.writerow(
                (
                    on.isoformat(), f"Donor {donor}", f"{donor}@mail.example", f"{gross / 100:.2f}", f"{fee / 100:.2f}",
                    f"G-{number}", dice.choice(("", "", "for the wound fund", "thank you")),
                    dice.choice(("once", "monthly")),
                )
            )  # fmt: skip


def _measured(database: Path, media: str, *words: str) -> dict[str, float]:
    environment = {
        **os.environ,
        "DATABASE_URL": f"sqlite:///{database}",
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "MEDIA_ROOT": f"{media}/media",
        "PYTHONPATH": str(ROOT),
    }
    said = (sys.executable, "-m", "tests.benchmarks.bench_gifts", *words)
    done = subprocess.run(said, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True, check=True)
    return json.loads(done.stdout.splitlines()[-1])


# ------------------------------------------------------------ in the process that measures


def _record(path: str) -> float:
    from django.core.management import call_command

    begun = time.perf_counter()
    call_command("import_gifts", path, "--source", "The giving site", "--by", "greta")
    return time.perf_counter() - begun


def _bare(left: str) -> float:
    from django.db import connection, connections, transaction

    from config import triggers
    from ledger.models import Donor, Entry, FundDay, Gift, Inflow, Posting, Use, Words

    connections.databases["left"] = {**connections.databases["default"], "NAME": left}
    triggers.lift(connection)
    spent = 0.0
    last = Entry.objects.using("left").order_by("-id").values_list("id", flat=True)[0]
    alone = [(Donor, {"id__gt": Donor.objects.order_by("-id")[0].id}), (FundDay, {})]
    pages = [
        [(model, {f"{name}__gte": low, f"{name}__lt": low + PAGE}) for model, name in
         ((Gift, "entry"), (Posting, "entry"), (Inflow, "entry"), (Use, "entry"), (Words, "entry"), (Entry, "id"))]
        for low in range(1, last + 1, PAGE)
    ]  # fmt: skip
    for tables in (alone, *pages):
        found = [(model, list(model.objects.using("left").filter(**which))) for model, which in tables]
        for row in (row for _, rows in found for row in rows):
            row._state.db, row._state.adding = None, True
        begun = time.perf_counter()
        with transaction.atomic(durable=True):
            for model, rows in found:
                model.objects.bulk_create(rows)
        spent += time.perf_counter() - begun
    return spent


def main(words: list[str]) -> None:
    import django

    django.setup()
    seconds = _record(words[1]) if words[0] == "record" else _bare(words[1])
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    print(json.dumps({"seconds": seconds, "memory": memory}))


if __name__ == "__main__":
    main(sys.argv[1:])
