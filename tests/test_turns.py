"""Writers of the SQLite file wait for their turn in a queue, and nobody waits for one who is gone."""

import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from django.db import OperationalError, connection, transaction

from clinic.models import Service
from config.sqlite3.turns import Turn, TurnDidNotCome

HOLDS = """
import sys, time
from pathlib import Path
from config.sqlite3.turns import Turn
Turn(Path(sys.argv[1]), seconds=5).take()
print("taken", flush=True)
time.sleep(60)
"""


@pytest.fixture
def place(tmp_path):
    return tmp_path / "books.sqlite3-turn"


def test_one_writes_at_a_time_and_the_next_goes_on_when_it_has_ended(place):
    first, second, said = Turn(place, seconds=5), Turn(place, seconds=5), []

    def write():
        second.take()
        said.append("second")
        second.give()

    first.take()
    waiting = threading.Thread(target=write)
    waiting.start()
    time.sleep(0.1)
    said.append("first")
    first.give()
    waiting.join(5)

    assert said == ["first", "second"]


def test_a_turn_that_does_not_come_is_given_up_and_blocks_nobody_later(place):
    first, second, third = (Turn(place, seconds=seconds) for seconds in (5, 0.05, 5))
    first.take()

    with pytest.raises(TurnDidNotCome):
        second.take()
    first.give()

    third.take()  # what gave up let go of the turn that came to it afterwards
    third.give()


def test_a_killed_writer_holds_up_nobody(place):
    words = [sys.executable, "-c", HOLDS, str(place)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout.readline() == "taken\n"
        with pytest.raises(TurnDidNotCome):
            Turn(place, seconds=0.05).take()
        holder.kill()

    Turn(place, seconds=5).take()


def test_taking_and_giving_twice_is_harmless(place):
    turn = Turn(place, seconds=1)
    turn.take()
    turn.take()
    turn.give()
    turn.give()

    Turn(place, seconds=0.05).take()


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL has a queue of its own")
@pytest.mark.django_db(transaction=True)
class TestTransactions:
    @pytest.fixture
    def another(self):
        """Another process that wants to write."""
        name = connection.settings_dict["NAME"]

        def comes() -> None:
            turn = Turn(Path(f"{name}-turn"), seconds=0.05)
            turn.take()
            turn.give()

        return comes

    def test_a_transaction_has_its_turn_until_it_has_ended(self, another):
        with transaction.atomic(), pytest.raises(TurnDidNotCome):
            another()

        another()

    def test_what_is_rolled_back_gives_its_turn_to_the_next(self, another):
        with pytest.raises(ZeroDivisionError), transaction.atomic():
            _ = 1 / 0

        another()

    def test_a_refused_row_gives_its_turn_to_the_next(self, another):
        with pytest.raises(Exception, match=r"."), transaction.atomic():
            Service.objects.create(code="x", name="x", kind="care")
            Service.objects.create(code="x", name="x", kind="care")

        another()
        assert Service.objects.count() == 0

    def test_who_waits_too_long_is_told_as_of_any_busy_database(self, monkeypatch):
        monkeypatch.setitem(connection.settings_dict["OPTIONS"], "timeout", 0.05)
        other = Turn(Path(f"{connection.settings_dict['NAME']}-turn"), seconds=1)
        other.take()

        with pytest.raises(OperationalError, match="locked"), transaction.atomic():
            raise AssertionError("nothing is begun without a turn")
        other.give()

        with transaction.atomic():
            pass
