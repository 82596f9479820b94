"""SQLite's own wait is unfair: of eight writers one may meet "database is locked" though each write is short.

So a transaction that will write first takes its turn on a lock file beside the database, and gives it back when it
has ended. A single statement outside of any transaction still relies on SQLite's wait alone.
"""

from pathlib import Path
from typing import Any

from django.db.backends.sqlite3 import base
from django.db.utils import OperationalError

from config.sqlite3.turns import Turn, TurnDidNotCome


class DatabaseWrapper(base.DatabaseWrapper):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._turn: Turn | None = None

    def _start_transaction_under_autocommit(self) -> None:
        self._take_turn()
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._give_turn()
            raise

    def _commit(self) -> None:
        super()._commit()
        self._give_turn()  # a commit that fails is rolled back next, still in its turn

    def _rollback(self) -> None:
        try:
            super()._rollback()
        finally:
            self._give_turn()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._give_turn()

    def _take_turn(self) -> None:
        if self.is_in_memory_db():
            return
        self._give_turn()
        name = Path(str(self.settings_dict["NAME"]))
        self._turn = Turn(name.with_name(f"{name.name}-turn"), seconds=self.settings_dict["OPTIONS"]["timeout"])
        try:
            self._turn.take()
        except TurnDidNotCome as waited:
            raise OperationalError("database is locked: its turn to write did not come") from waited

    def _give_turn(self) -> None:
        turn, self._turn = self._turn, None
        if turn:
            turn.give()
