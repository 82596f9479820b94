"""Eight post at once while two read and a backup is taken; and a writer is killed at any moment. Nothing is lost."""

import os
import random
import secrets
import signal
import subprocess
import sys
import threading
import time
from uuid import UUID, uuid5

import pytest
from django.db import connection

from config.backups import making
from ledger.audit import audit
from ledger.models import Entry
from tests.conftest import SOAK
from tests.crash.test_killed import ROOT, forgotten_by_the_server, url
from tests.ledger import make
from tests.ledger.make import BRACKEN, oct
from tests.test_backups import asked_elsewhere

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


def missing(keys: list[str], there: set[UUID]) -> list[UUID]:
    """Return the keys that are not there; a correction's reversal has a key made of its own."""
    return [key for key in map(UUID, keys) if key not in there and uuid5(key, "taken back") not in there]


def kept_once(keys: list[str]) -> None:
    """Every acknowledged key stands in the books, exactly once."""
    assert missing(keys, set(Entry.objects.values_list("key", flat=True))) == []
    assert len(keys) == len(set(keys))
    assert audit().findings == ()


class Heard:
    """What a process says, line by line, while it goes on."""

    def __init__(self, process: subprocess.Popen) -> None:
        self.process, self.said = process, []
        self._listening = threading.Thread(target=lambda: self.said.extend(process.stdout), daemon=True)
        self._listening.start()

    def kept(self) -> list[str]:
        return [words[1] for words in lines("".join(self.said)) if words[0] == "kept"]

    def ended(self) -> list[str]:
        """Wait until the process has done its work without an error, and return its keys."""
        self._listening.join(timeout=900)
        assert self.process.wait(timeout=60) == 0, self.process.stderr.read()  # no error reaches a person
        self.process.stdout.close()
        self.process.stderr.close()
        return self.kept()


def test_eight_write_while_two_read_and_one_takes_a_backup(bank, seed, tmp_path):
    """The backup is the books of one moment: restored elsewhere they are whole, and hold what was kept before it."""
    writers = [Heard(begun("write", seed + number, EACH)) for number in range(WRITERS)]
    readers = [begun("read", 3600) for _ in range(READERS)]
    before = Entry.objects.count()

    while sum(len(writer.kept()) for writer in writers) < EACH:
        time.sleep(0.05)
    kept_before = [key for writer in writers for key in writer.kept()]
    making.engine().copy_into(tmp_path)
    keys = [key for writer in writers for key in writer.ended()]
    for reader in readers:
        reader.send_signal(signal.SIGTERM)
        said, wrong = reader.communicate(timeout=60)
        assert [words for words in lines(said) if words[0] == "broken"] == [], wrong
        assert lines(said).count(["read"]) > EACH  # balances were read all the while

    assert len(keys) == WRITERS * EACH
    kept_once(keys)
    assert Entry.objects.count() == before + len(keys)
    assert making.engine().faults(tmp_path) == []
    with making.engine().trial(tmp_path) as address:
        environment = {**os.environ, "DATABASE_URL": address}
        assert asked_elsewhere(
            environment, "SELECT 1", first="from ledger.audit import audit; assert not audit().findings;"
        ) == ["1"]
        there = {UUID(key) for key in asked_elsewhere(environment, "SELECT key FROM ledger_entry")}
    assert missing(kept_before, there) == []
    assert len(there) < before + len(keys)  # it was taken while they wrote


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
