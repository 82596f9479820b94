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

from clinic.actions import paper_runs, run_papers
from clinic.actions.issue_statement import TEMPLATE
from clinic.management import paper_worker
from clinic.models import House, PaperRun, User
from clinic.queries.impact_statement import impact_statement
from config import clock
from ledger.actions import donors, gifts
from ledger.models import Donor, Fund
from tests.benchmarks import bare_drawings, bench, bench_papers

COUNT = int(os.environ.get("PAPERS", "500"))
TO = date(2026, 10, 14)
LEASE = timedelta(minutes=10)


def rows() -> list[tuple[str, float, float]]:
    with tempfile.TemporaryDirectory(prefix="ward-pages-") as folder:
        _many_donors()
        pages = _pages(Path(folder))
        ours_alone, memory = _in_this_process(_run(1))
        bare_alone = _drawn(pages, workers=1)
        ours_two = _with_two_workers(_run(2))
        bare_two = _drawn(pages, workers=2)
    gain, bare_gain = ours_alone / ours_two, bare_alone / bare_two
    first, last = statistics.mean(memory[20:100] or memory), statistics.mean(memory[-100:])
    return [
        (f"{COUNT} statements: what two bare drawings gain, against two workers", bare_gain / gain, 1 / 0.85),
        (f"{COUNT} statements: one worker against WeasyPrint alone", ours_alone / bare_alone, 1.25),
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
    house, paths = House.objects.get(), []
    for donor in Donor.objects.filter(id__in=_with_money()):
        facts = impact_statement(
            donor_id=donor.id, donor=donor.name, address=donor.address, from_on=date(2026, 1, 1), to_on=TO,
            issued_on=TO, house=house, signer="Amos Yelland", form="full", number="2026-0001",
        )  # fmt: skip
        path = folder / f"{donor.id}.html"
        path.write_text(render_to_string(TEMPLATE, {"statement": facts, "paper_size": facts.paper}))
        paths.append(str(path))
    return paths


def _in_this_process(run: PaperRun) -> tuple[float, list[int]]:
    """Work off a run here, and read after each paper how much memory the process holds."""
    memory: list[int] = []
    page = os.sysconf("SC_PAGE_SIZE")

    def tell() -> None:
        memory.append(int(Path("/proc/self/statm").read_text().split()[1]) * page)

    spent = _timed(lambda: run_papers.work(run=run, worker="bench", now=clock.real_now, tell=tell))
    return spent, memory


def _with_two_workers(run: PaperRun) -> float:
    connection.close()
    with _pool(2) as pool:
        list(pool.map(bare_drawings.ready, range(2)))
        return _timed(lambda: list(pool.map(paper_worker.work_in_a_process, [run.pk] * 2, [LEASE] * 2, [COUNT] * 2)))


def _drawn(pages: list[str], *, workers: int) -> float:
    """Let WeasyPrint alone draw the pages in so many processes, each with its share."""
    with _pool(workers) as pool:
        list(pool.map(bare_drawings.ready, range(workers)))
        return _timed(lambda: list(pool.map(bare_drawings.draw_all, [pages[turn::workers] for turn in range(workers)])))


def _pool(workers: int) -> ProcessPoolExecutor:
    os.environ["PYTHONPATH"] = str(bench.ROOT)
    os.environ["DATABASE_URL"] = f"sqlite:///{connection.settings_dict['NAME']}"
    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn"))


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start
