"""Issues and writes out the statements of all donors or partners for some days; a run that was stopped goes on."""

from __future__ import annotations

import os
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.db import connection, transaction
from tqdm import tqdm

from clinic.actions import paper_runs
from clinic.actions.run_papers import work
from clinic.management import paper_worker
from clinic.management.commands.length_of_stay import day
from clinic.management.plain import PlainCommand
from clinic.models import House, PaperRun, RunItem, User
from clinic.queries import run_files
from config import clock
from config.refusal import Refusal
from config.roles import Role


class Command(PlainCommand):
    help = "Issue the statements of all donors or all partners for some days, and write them out as PDF."
    example = """
example:
  ./run manage print_statements donor --from 2026-01-01 --to 2026-12-31 --out statements
  ./run manage print_statements partner --from 2026-10-01 --to 2026-10-31 --out october --json

Each statement is issued once and keeps its number: the same days asked for again give the same files. Interrupted, it
goes on where it stopped; what another worker has begun is taken over after two minutes, with --take-over at once.
Beside one file each, all.pdf holds for the printer those that go by post. Exit status: 0, 1 where some cannot be made
(each says why), 2 where the days or the folder cannot be used.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", choices=PaperRun.Kind.values)
        parser.add_argument("--from", dest="from_on", metavar="DATE", type=day, required=True, help="the first day")
        parser.add_argument("--to", dest="to_on", metavar="DATE", type=day, required=True, help="the last day")
        parser.add_argument("--out", metavar="DIR", type=Path, required=True, help="where the files go")
        parser.add_argument("--form", choices=["short", "full"], default="", help="one form for all donors")
        parser.add_argument("--workers", type=int, default=1, help="processes at work at once (default: 1)")
        parser.add_argument("--take-over", action="store_true", help="take over what a worker began who is gone")
        parser.add_argument("--json", action="store_true", help="print each paper's number, file and sums as JSON")

    def handle(self, *, kind: str, from_on: date, to_on: date, out: Path, **options: Any) -> None:
        run = self._run(kind, from_on, to_on, options["form"])
        try:
            out.mkdir(parents=True, exist_ok=True)
        except OSError as obstacle:
            self.bad_input(f"Nothing was written: {out} cannot be used as a folder ({obstacle.strerror}).")
        lease = timedelta(0) if options["take_over"] else paper_runs.LEASE
        waiting = run.items.filter(state__in=(RunItem.State.WAITING, RunItem.State.WORKING)).count()
        with tqdm(total=waiting, desc="making papers", unit="paper", disable=None) as bar:
            if options["workers"] > 1:
                self._side_by_side(run, options["workers"], lease, bar)
            else:
                work(run=run, worker=f"process {os.getpid()}", now=clock.real_now, lease=lease, tell=bar.update)
        files = run_files.write_out(run=run, folder=out)
        left = run_files.not_made(run=run)
        self.stdout.write(run_files.as_json(files, left) if options["json"] else _as_text(files, left, out))
        if left:
            sys.exit(1)

    def _side_by_side(self, run: PaperRun, workers: int, lease: timedelta, bar: tqdm) -> None:
        connection.close()
        try:
            paper_worker.work_in_processes(run_id=run.pk, workers=workers, lease=lease, tell=bar.update)
        except paper_worker.WorkerGone:
            self.stderr.write(
                "A worker was stopped from outside. Nothing is lost; start again with --take-over, for what it held."
            )

    def _run(self, kind: str, from_on: date, to_on: date, form: str) -> PaperRun:
        house = House.objects.first()
        by = User.objects.filter(roles_held__role=Role.MANAGER, left_on=None).order_by("pk").first()
        if house is None or by is None:
            self.bad_input("There is no clinic in this database yet. Set it up first with ./run.")
        if to_on < from_on:
            self.bad_input(f"--to {to_on} lies before --from {from_on}. Turn the two days round.")
        key = paper_runs.run_key(kind=kind, from_on=from_on, to_on=to_on, form=form)
        said = {"kind": kind, "from_on": from_on, "to_on": to_on, "form": form}
        try:
            with transaction.atomic(durable=True):
                run = paper_runs.start(key=key, **said, by=by, today=clock.today(house.time_zone), at=clock.now())
                paper_runs.retry(run=run)
        except Refusal as refused:
            self.bad_input(refused)
        return PaperRun.objects.select_related("started_by").get(pk=run.pk)


def _as_text(files: list[run_files.PaperFile], left: list[run_files.NotMade], out: Path) -> str:
    lines = [f"{one.whose}: {one.says}" for one in left]
    lines.append(f"{len(files):,} statements in {out}" + (f"; {len(left):,} could not be made." if left else "."))
    return "\n".join(lines)
