"""Killed at any moment, a file of gifts is recorded as if nobody had stopped it: begun again, it adds the rest."""

import json
import os
import random
import secrets
import signal
import subprocess
import sys
import time
import uuid

import pytest
from django.db import connection

from clinic.models import House, User
from config.backups import making
from ledger.actions import gift_files
from ledger.audit import audit
from ledger.models import Gift, GiftReturn
from tests.conftest import SOAK
from tests.crash import gifts_at_work
from tests.crash.test_killed import ROOT, forgotten_by_the_server, url
from tests.ledger import make

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.random]

COUNT, KILLS = (100_000, 20) if SOAK else (5_000, 5)


@pytest.fixture
def path(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    path = tmp_path / "gifts.csv"
    gifts_at_work.write_file(path, count=COUNT)
    make.books()
    wound = make.fund("Wound fund", "purpose", purpose={"dressing"})
    House.objects.create(pk=1, name="Larkweir Veterinary Practice", opening_on=make.oct(1), time_zone="UTC")
    User.objects.create(sign_in="greta", name="Greta", initials="GL")
    meanings = ("on", "name", "email", "gross", "fee", "reference", "original", "words", "often")
    file = gift_files.bring(
        key=uuid.UUID(int=1), source=gifts_at_work.SITE, content=path.read_bytes(), name=path.name, by=1,
        at=make.at(make.oct(31)),
    )  # fmt: skip
    gift_files.say(
        source=file.source, columns=dict(zip(meanings, gifts_at_work.HEADS, strict=True)), way="giving_site",
        decimal="", day_first=None, fund_id=make.general().id, rules=[("wound fund", wound.id)],
    )  # fmt: skip
    return path


def begun(address: str, settings, *words: object) -> subprocess.Popen:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.crash.gifts_at_work", *map(str, words)],
        cwd=ROOT,
        env={
            **os.environ,
            "DATABASE_URL": address,
            "DJANGO_SETTINGS_MODULE": "config.settings",
            "MEDIA_ROOT": str(settings.MEDIA_ROOT),
        },
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def ended(process: subprocess.Popen) -> list[str]:
    said, wrong = process.communicate(timeout=1800)
    assert process.returncode == 0, wrong
    return said.splitlines()


def test_killed_at_random_moments_a_file_is_recorded_as_in_one_clean_run(path, settings, tmp_path):
    seed = int(os.environ.get("RANDOM_SEED", secrets.randbelow(2**32)))
    print(f"seed {seed}")
    moments = random.Random(seed)
    (tmp_path / "copy").mkdir()
    making.engine().copy_into(tmp_path / "copy")
    with making.engine().trial(tmp_path / "copy") as address:
        clean = begun(address, settings, "record", path, "told")
        assert clean.stdout.readline() == "ready\n", clean.stderr.read()
        start = time.monotonic()
        clean_said, told = ended(clean)
        whole, wanted = time.monotonic() - start, json.loads(told)

    killed = 0
    for _ in range(KILLS):
        run = begun(url(), settings, "record", path)
        assert run.stdout.readline() == "ready\n", run.stderr.read()
        time.sleep(whole * moments.uniform(0.02, 1.4 / KILLS))
        killed += run.poll() is None
        run.send_signal(signal.SIGKILL)
        run.communicate(timeout=60)
        forgotten_by_the_server()
    ended(begun(url(), settings, "record", path))
    found = gifts_at_work.told()
    if connection.vendor == "postgresql":  # a killed transaction uses numbers up: gifts and donors have later ones
        found.pop("last"), wanted.pop("last")

    assert killed
    assert found == wanted
    assert clean_said == f"{COUNT} recorded, 0 in the books already, 2 wait."
    assert (Gift.objects.count(), GiftReturn.objects.count()) == (COUNT - COUNT // 100, COUNT // 100)
    assert audit().findings == ()
