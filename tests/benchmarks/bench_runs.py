"""A run of statements: what two workers gain beside two bare drawings, what one costs beside its drawing, its memory.

PAPERS says how many statements (500).
"""

from __future__ import annotations

import multiprocessing
import os
import statistics
import tempfile
import time
import uuid
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from datetime import date, timedelta
from pathlib import Path

from django.db import connection, transaction
from django.template.loader import render_to_string

from clinic.actions import paper_runs
from clinic.actions.issue_statement import TEMPLATE
from clinic.management import paper_worker
from clinic.models import House, PaperRun, User
from clinic.queries.impact_statement import impact_statement
from clinic.queries.stationery import stationery_of
from config import clock
from ledger.actions import donors, gifts
from ledger.models import Donor, Fund
from tests.benchmarks import bare_drawings, bench, bench_papers

COUNT = int(os.environ.get("PAPERS", "500"))
TO = date(2026, 10, 14)
LEASE = timedelta(minutes=10)
TURNS = 5
TEN = 10


def rows() -> list[tuple[str, float, float]]:
    """Measure each pair side by side, in turns, so that what else the machine does falls on both."""
    with tempfile.TemporaryDirectory(prefix="ward-pages-") as folder:
        _many_donors()
        pages = _pages(Path(folder))
        against_bare, memory = _one_by_one(_run(1), pages)
        gain, bare_gain = _gains(_run(2), _run(3), pages)
    first, last = statistics.mean(memory[:TEN]), statistics.mean(memory[-TEN:])
    return [
        (f"{COUNT} statements: what two bare drawings gain, against two workers", bare_gain / gain, 1 / 0.85),
        (f"{COUNT} statements: one worker against WeasyPrint alone", against_bare, 1.25),
        (f"{COUNT} statements: a worker's memory, the last hundred against the first", last / first, 1.10),
    ]


def _many_donors() -> None:
    """The demo, and so many more donors whose gifts wait in the general fund."""
    bench_papers._timed(bench_papers._live)
    by, general = User.objects.get(sign_in="greta").pk, Fund.objects.get(kind="general").pk
    with transaction.atomic(durable=True):
        for number in range(COUNT - len(_with_money())):
            donor = donors.add(key=uuid.uuid4(), name=f"Donor {number}", on=TO, by=by)
            gifts.receive(
                key=uuid.uuid4(), donor_id=donor.pk, fund_id=general, amount_minor=1000 + number, received_on=TO, by=by,
                today=TO, at=clock.now(),
            )  # fmt: skip


def _with_money() -> tuple[int, ...]:
    return paper_runs.donor_choices.with_money(from_on=date(2026, 1, 1), to_on=TO)


def _run(number: int) -> PaperRun:
    """Each run has days of its own, so that it issues its own papers."""
    said = {"kind": "donor", "from_on": date(2026, 1, number), "to_on": TO, "form": "full"}
    with transaction.atomic(durable=True):
        manager = User.objects.get(sign_in="amos")
        run = paper_runs.start(key=uuid.uuid4(), **said, by=manager, today=TO, at=clock.now())
    return PaperRun.objects.select_related("started_by").get(pk=run.pk)


def _pages(folder: Path) -> list[str]:
    """Write the very pages that a run draws, without drawing them."""
    stationery, paths = stationery_of(House.objects.get()), []
    for donor in Donor.objects.filter(id__in=_with_money()):
        facts = impact_statement(
            donor_id=donor.id, donor=donor.name, address=donor.address, from_on=date(2026, 1, 1), to_on=TO,
            issued_on=TO, stationery=stationery, signer="Amos Yelland", form="full", number="2026-0001",
        )  # fmt: skip
        path = folder / f"{donor.id}.html"
        path.write_text(render_to_string(TEMPLATE, {"statement": facts, "paper_size": facts.paper}))
        paths.append(str(path))
    return paths


def _one_by_one(run: PaperRun, pages: list[str]) -> tuple[float, list[int]]:
    """Make ten papers of a run and draw their very pages alone beside them, in turns; read the memory after each."""
    found = []
    for first in range(0, len(pages), paper_worker.MOST):
        of_one_worker = pages[first : first + paper_worker.MOST]
        turns = [of_one_worker[start : start + TEN] for start in range(0, len(of_one_worker), TEN)]
        with _pool(1) as pool:
            found += pool.map(bare_drawings.beside, [run.pk] * len(turns), [LEASE] * len(turns), turns)
    ours, bare, memory = zip(*found, strict=True)
    return statistics.median(ours) / statistics.median(bare), list(memory)


def _gains(alone: PaperRun, together: PaperRun, pages: list[str]) -> tuple[float, float]:
    """Return what a second worker gains and what a second bare process gains, in turns of some papers each."""
    each = max(COUNT // TURNS, 2)
    gains, bare_gains = [], []
    with _pool(2) as pool:
        list(pool.map(bare_drawings.ready, range(2)))
        for turn in range(TURNS):
            some, half = pages[turn * each : (turn + 1) * each], [each // 2] * 2
            one = _pooled(pool, paper_worker.work_in_a_process, [alone.pk], [LEASE], [each])
            gains.append(one / _pooled(pool, paper_worker.work_in_a_process, [together.pk] * 2, [LEASE] * 2, half))
            bare_one = _pooled(pool, bare_drawings.draw_all, [some])
            bare_gains.append(bare_one / _pooled(pool, bare_drawings.draw_all, [some[::2], some[1::2]]))
    return statistics.median(gains), statistics.median(bare_gains)


def _pooled(pool: ProcessPoolExecutor, work: Callable, *said: list) -> float:
    return _timed(lambda: list(pool.map(work, *said)))


def _pool(workers: int) -> ProcessPoolExecutor:
    connection.close()
    os.environ["PYTHONPATH"] = str(bench.ROOT)
    os.environ["DATABASE_URL"] = f"sqlite:///{connection.settings_dict['NAME']}"
    spawn = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(workers, mp_context=spawn)


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start
