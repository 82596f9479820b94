"""Killed at any moment, a ward at work leaves nothing half done, and keeps all that it said was kept."""

import os
import random
import secrets
import signal
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import quote

import pytest
from django.db import connection

from clinic import audit as care
from clinic.models import CareItem, Signing
from ledger import audit as books
from ledger.models import Entry, Fund
from tests.clinic import make
from tests.conftest import SOAK
from tests.crash.ward_at_work import FIRST

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.random]

ROOT = Path(__file__).resolve().parent.parent.parent
KILLS = 150 if SOAK else 5
LONGEST = 0.6  # seconds of work before the kill: some twenty days


def url() -> str:
    settings = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{settings['NAME']}"
    return f"postgresql://{settings['USER']}@{quote(settings['HOST'], safe='')}/{settings['NAME']}"


@pytest.fixture
def ward():
    """Four animals in care, an agreement, a fund for dressings, and general money that runs out along the way."""
    clinic = make.open_clinic()
    for name in ("Bracken", "Ballast", "Minnow", "Tansy"):
        clinic.admit(name, on=FIRST, partner=name.startswith("B"))
    wound = make.fund(clinic, "purpose", "Wound fund", purpose=["dressing"])
    for number in range(6):
        clinic.gift(wound, 100_00 + number)
    clinic.gift(Fund.objects.get(kind="general"), 2_000_00)


def begun(*words: str) -> subprocess.Popen:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.crash.ward_at_work", *words],
        cwd=ROOT,
        env={**os.environ, "DATABASE_URL": url(), "DJANGO_SETTINGS_MODULE": "config.settings"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def killed(after: float) -> list[list[str]]:
    """Let the ward work for a while, kill it, and return what it had said by then."""
    ward = begun()
    assert ward.stdout.readline() == "ready\n", ward.stderr.read()
    time.sleep(after)
    ward.send_signal(signal.SIGKILL)
    said, wrong = ward.communicate(timeout=30)
    assert ward.returncode == -signal.SIGKILL, wrong
    forgotten_by_the_server()
    return [line.split() for line in said.splitlines(keepends=True) if line.endswith("\n")]


def forgotten_by_the_server() -> None:
    """Wait until PostgreSQL has ended the session of the process that is gone."""
    if connection.vendor != "postgresql":
        return
    for _ in range(200):
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
                " AND backend_type = 'client backend'"
            )
            if cursor.fetchone() == (0,):
                return
        time.sleep(0.05)
    raise AssertionError("the killed process still has a session")


def kept(said: list[list[str]]) -> None:
    """Everything that was said to be kept is there, and every promise of both rooms holds."""
    given = {words[1] for words in said if words[0] == "given"}
    signed = {words[1] for words in said if words[0] == "signed"}
    assert given <= set(map(str, CareItem.objects.values_list("key", flat=True)))
    assert signed <= set(map(str, Signing.objects.values_list("key", flat=True)))
    assert books.audit().findings == ()
    assert care.audit().findings == ()


def test_a_kill_leaves_nothing_half_done(ward):
    seed = int(os.environ.get("RANDOM_SEED", secrets.randbelow(2**32)))
    print(f"seed {seed}")
    moments = random.Random(seed)
    said: list[list[str]] = []

    for _ in range(KILLS):
        said += killed(moments.uniform(0, LONGEST))
        kept(said)

    before = Signing.objects.count()
    going_on = begun("2")
    more, wrong = going_on.communicate(timeout=60)
    assert going_on.returncode == 0, wrong
    kept(said + [line.split() for line in more.splitlines()])
    assert Signing.objects.count() == before + 2
    # Each signed day charges four boarding days, four dressings and four times tablets; a half-signed one would not.
    assert Entry.objects.filter(kind="charge").count() == 12 * Signing.objects.count()
