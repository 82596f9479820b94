"""Killed at any moment, a run of papers loses none, makes none twice, and goes on where it stopped."""

import multiprocessing
import os
import random
import secrets
import signal
import subprocess
import sys
import time
import uuid
from datetime import date, timedelta

import pytest

from clinic import audit as care
from clinic.actions import paper_runs
from clinic.management import paper_worker
from clinic.models import IssuedPaper, PaperNumber, RunItem
from ledger.actions import donors
from ledger.models import Fund
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
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


def given_by(donors_of_money: int) -> make.Clinic:
    """So many donors of general money, which paid one day of boarding."""
    clinic, general = make.open_clinic(), Fund.objects.get(kind="general")
    for number in range(donors_of_money):
        said = {"key": uuid.uuid4(), "on": date(2026, 10, 1), "by": clinic.bookkeeper.pk}
        clinic.gift(general, 500 + number, donor_id=donors.add(name=f"Donor {number}", **said).pk)
    clinic.admit(on=DAY, partner=False)
    clinic.sign()
    return clinic


def test_workers_follow_each_other_until_nothing_is_left_and_one_that_was_killed_is_told(
    settings, tmp_path, monkeypatch
):
    """Two papers of each worker, where the last one in place is killed after its first."""
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setenv("DATABASE_URL", url())
    monkeypatch.setenv("MEDIA_ROOT", str(tmp_path))
    clinic = given_by(6)
    days = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}
    said = {"kind": "donor", **days, "form": "", "by": clinic.manager, "today": TODAY, "at": AT}
    run = paper_runs.start(key=uuid.uuid4(), **said)
    common = {"run_id": run.pk, "lease": timedelta(0), "most": 2}
    told = []

    def kill_the_last() -> None:
        told.append(len(told))
        if len(told) == 5:
            for process in multiprocessing.active_children():
                process.kill()

    with pytest.raises(paper_worker.WorkerGone):
        paper_worker.work_in_processes(workers=1, tell=kill_the_last, **common)
    paper_worker.work_in_processes(workers=2, tell=lambda: told.append(0), **common)

    assert len(told) >= 6
    assert set(run.items.values_list("state", flat=True)) == {"made"}
    assert IssuedPaper.objects.values("donor_id").distinct().count() == IssuedPaper.objects.count() == 6


def test_killed_at_random_moments_a_run_loses_no_paper(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    seed = int(os.environ.get("RANDOM_SEED", secrets.randbelow(2**32)))
    print(f"seed {seed}")
    moments = random.Random(seed)
    given_by(DONORS)

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
