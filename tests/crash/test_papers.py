"""Killed at any moment, a run of papers loses none, makes none twice, and goes on where it stopped."""

import os
import random
import secrets
import signal
import subprocess
import sys
import time
import uuid
from datetime import date

import pytest

from clinic import audit as care
from clinic.models import IssuedPaper, PaperNumber, RunItem
from ledger.actions import donors
from ledger.models import Fund
from tests.clinic import make
from tests.clinic.make import DAY
from tests.conftest import SOAK
from tests.crash.test_killed import ROOT, forgotten_by_the_server, url

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.random]

KILLS = 20 if SOAK else 5
DONORS = 60
WORDS = ("donor", "--from", "2026-01-01", "--to", "2026-12-31", "--take-over")


def begun(folder, out) -> subprocess.Popen:
    environment = {**os.environ, "DATABASE_URL": url(), "MEDIA_ROOT": str(folder)}
    return subprocess.Popen(
        [sys.executable, "manage.py", "print_statements", *WORDS, "--out", str(out)],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_killed_at_random_moments_a_run_loses_no_paper(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    seed = int(os.environ.get("RANDOM_SEED", secrets.randbelow(2**32)))
    print(f"seed {seed}")
    moments, clinic = random.Random(seed), make.open_clinic()
    general = Fund.objects.get(kind="general")
    for number in range(DONORS):
        said = {"key": uuid.uuid4(), "on": date(2026, 10, 1), "by": clinic.bookkeeper.pk}
        clinic.gift(general, 500 + number, donor_id=donors.add(name=f"Donor {number}", **said).pk)
    clinic.admit(on=DAY, partner=False)
    clinic.sign()

    killed = 0
    for _ in range(KILLS):
        run = begun(tmp_path / "media", tmp_path / "out")
        time.sleep(moments.uniform(1.0, 3.0))
        killed += run.poll() is None
        run.send_signal(signal.SIGKILL)
        run.communicate(timeout=30)
        forgotten_by_the_server()
        assert care.audit().findings == ()
    last = begun(tmp_path / "media", tmp_path / "out")
    said, wrong = last.communicate(timeout=120)

    assert last.returncode == 0, wrong
    assert killed
    assert set(RunItem.objects.values_list("state", flat=True)) == {"made"}
    assert IssuedPaper.objects.count() == RunItem.objects.count() == DONORS
    assert sorted(PaperNumber.objects.values_list("serial", flat=True)) == list(range(1, DONORS + 1))
    assert IssuedPaper.objects.values("donor_id").distinct().count() == DONORS
    assert len(list((tmp_path / "out").glob("2026-*.pdf"))) == DONORS
    assert care.audit().findings == ()
