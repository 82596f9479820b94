"""Eight people post at once while two read; and a writer is killed at any moment. Nothing said to be kept is lost."""

import os
import random
import secrets
import signal
import subprocess
import sys
import time
from uuid import UUID, uuid5

import pytest
from django.db import connection

from ledger.audit import audit
from ledger.models import Entry
from tests.conftest import SOAK
from tests.crash.test_killed import ROOT, forgotten_by_the_server, url
from tests.ledger import make
from tests.ledger.make import BRACKEN, oct

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.random]

WRITERS, READERS = 8, 2
EACH = 250 if SOAK else 25
KILLS = 100 if SOAK else 20


@pytest.fixture
def seed() -> int:
    seed = int(os.environ.get("RANDOM_SEED", secrets.randbelow(2**32)))
    print(f"seed {seed}")
    return seed


@pytest.fixture
def bank():
    make.books()
    make.opened(make.general(), 900_00)
    make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
    make.fund("A legacy", "reserve", is_restricted=False)
    make.gift(make.fund("Wound fund", "purpose", purpose={"dressing"}), 300_00, oct(2))
    make.agreed(40)


def begun(*words: object) -> subprocess.Popen:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.crash.bank_at_work", *map(str, words)],
        cwd=ROOT,
        env={**os.environ, "DATABASE_URL": url(), "DJANGO_SETTINGS_MODULE": "config.settings"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def lines(said: str) -> list[list[str]]:
    """Return what was said in whole lines; a kill may have cut the last one off."""
    return [line.split() for line in said.splitlines(keepends=True) if line.endswith("\n")]


def kept_once(keys: list[str]) -> None:
    """Every acknowledged key stands in the books, exactly once; a correction's reversal has a key made of its own."""
    there = set(Entry.objects.values_list("key", flat=True))
    missing = [key for key in map(UUID, keys) if key not in there and uuid5(key, "taken back") not in there]
    assert missing == []
    assert len(keys) == len(set(keys))
    assert audit().findings == ()


def test_eight_write_while_two_read(bank, seed):
    writers = [begun("write", seed + number, EACH) for number in range(WRITERS)]
    readers = [begun("read", 3600) for _ in range(READERS)]
    before = Entry.objects.count()
    keys: list[str] = []

    for writer in writers:
        said, wrong = writer.communicate(timeout=900)
        assert writer.returncode == 0, wrong  # no error reaches a person
        keys += [words[1] for words in lines(said) if words[0] == "kept"]
    for reader in readers:
        reader.send_signal(signal.SIGTERM)
        said, wrong = reader.communicate(timeout=60)
        assert [words for words in lines(said) if words[0] == "broken"] == [], wrong
        assert lines(said).count(["read"]) > EACH  # balances were read all the while

    assert len(keys) == WRITERS * EACH
    kept_once(keys)
    assert Entry.objects.count() == before + len(keys)


def test_a_writer_killed_at_any_moment_loses_nothing(bank, seed):
    moments = random.Random(seed)
    beside = begun("write", seed, 10_000)
    assert beside.stdout.readline() == "ready\n", beside.stderr.read()
    keys: list[str] = []

    for number in range(KILLS):
        writer = begun("write", seed + 1 + number, 10_000)
        assert writer.stdout.readline() == "ready\n", writer.stderr.read()
        time.sleep(moments.uniform(0, 0.4))
        writer.send_signal(signal.SIGKILL)
        said, wrong = writer.communicate(timeout=60)
        assert writer.returncode == -signal.SIGKILL, wrong
        keys += [words[1] for words in lines(said)]
    beside.send_signal(signal.SIGKILL)
    keys += [words[1] for words in lines(beside.communicate(timeout=60)[0])]
    forgotten_by_the_server()

    kept_once(keys)


def test_what_is_kept_is_on_the_disk():
    """A killed process is no pulled plug: the engine is told to wait for the disk, and says so when asked."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA synchronous")
            assert cursor.fetchone() == (2,)  # FULL
        else:
            cursor.execute("SHOW synchronous_commit")
            assert cursor.fetchone() == ("on",)
