"""A queue in front of a file that one process at a time may write: the system wakes who waits, in fair turn."""

import fcntl
import os
import threading
from pathlib import Path


class TurnDidNotCome(Exception):
    """Somebody else wrote for as long as this writer was willing to wait."""


class Turn:
    """One writer's place in the queue of `path`; a writer that dies leaves the queue with its process."""

    def __init__(self, path: Path, *, seconds: float) -> None:
        self.path, self.seconds = path, seconds
        self._file: int | None = None

    def take(self) -> None:
        """Wait for the turn; taking it twice is harmless.

        :raises TurnDidNotCome: after the seconds agreed on.
        """
        if self._file is not None:
            return
        file = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file = _waited(file, self.seconds)
        self._file = file

    def give(self) -> None:
        """Let the next one write; giving it twice is harmless."""
        file, self._file = self._file, None
        if file is not None:
            os.close(file)  # the lock belongs to the open file and goes with it


def _waited(file: int, seconds: float) -> int:
    """Return `file` once it is locked. The system's wait has no end of its own, so a thread waits and can be left."""
    settled, locked, left = threading.Lock(), threading.Event(), threading.Event()

    def wait() -> None:
        fcntl.flock(file, fcntl.LOCK_EX)
        with settled:
            if left.is_set():
                os.close(file)
            locked.set()

    threading.Thread(target=wait, name="waits for its turn", daemon=True).start()
    locked.wait(seconds)
    with settled:
        if locked.is_set():
            return file
        left.set()
    raise TurnDidNotCome
