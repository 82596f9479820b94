"""Worker processes of a run of papers: each sets Django up once, makes so many papers, and is followed by another."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess

MOST = 100  # papers of one worker; then another takes its place, so that memory cannot grow


class WorkerGone(Exception):
    """A worker was stopped from outside. What it had not finished is still to be made."""


def work_in_a_process(run_id: int, lease: timedelta, most: int = MOST, tell: Callable[[], None] = lambda: None) -> int:
    """Begin in a process of its own, with no connection to the database but the one that it makes itself."""
    import django

    django.setup()
    from clinic.actions.run_papers import work
    from clinic.models import PaperRun
    from config import clock

    run = PaperRun.objects.select_related("started_by").get(pk=run_id)
    return work(run=run, worker=f"process {os.getpid()}", now=clock.real_now, lease=lease, most=most, tell=tell)


def work_in_processes(
    *, run_id: int, workers: int, lease: timedelta, tell: Callable[[], object], most: int = MOST
) -> None:
    """Keep so many processes at work until each finds nothing left to take; `tell` is called for every item taken.

    :raises WorkerGone: once all have ended, when one of them was stopped from outside.
    """
    busy, gone = [_begin(run_id, lease, most) for _ in range(workers)], False
    while busy:
        told = wait([worker.told for worker in busy])
        for worker in [one for one in busy if one.told in told]:
            if worker.took_another():
                tell()
                continue
            busy.remove(worker)
            gone |= worker.was_stopped()
            if worker.taken == most:
                busy.append(_begin(run_id, lease, most))
    if gone:
        raise WorkerGone


@dataclass
class _Worker:
    process: SpawnProcess
    told: Connection  # a word for every item; it ends with the process
    taken: int = 0

    def took_another(self) -> bool:
        try:
            self.told.recv()
        except EOFError:
            return False
        self.taken += 1
        return True

    def was_stopped(self) -> bool:
        self.process.join()
        return self.process.exitcode != 0


def _begin(run_id: int, lease: timedelta, most: int) -> _Worker:
    told, telling = multiprocessing.Pipe(duplex=False)
    process = multiprocessing.get_context("spawn").Process(
        target=_work_telling, args=(telling, run_id, lease, most), daemon=True
    )
    process.start()
    telling.close()
    return _Worker(process=process, told=told)


def _work_telling(telling: Connection, run_id: int, lease: timedelta, most: int) -> None:
    work_in_a_process(run_id, lease, most, tell=lambda: telling.send(True))
