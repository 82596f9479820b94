"""Builds a large invented past into an empty database, for measuring."""

import json
import sys
import time
from datetime import date
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser
from tqdm import tqdm

from clinic.actions import build_history
from clinic.management.plain import PlainCommand
from config import clock
from config.refusal import Refusal

MOST_YEARS = 40


class Command(PlainCommand):
    help = (
        "Build a large invented past into an empty database, lived day by day through the actions that people use: "
        "about 400 animals, 6,000 gifts and 40,000 charges a year."
    )
    example = """
example:
  DATABASE_URL=sqlite:///var/past.sqlite3 ./run manage build_history --years 10 --seed 1

The same years, seed and last day give the same past. Ten years take about twelve minutes; a building that was
broken off is begun anew in an empty database. Exit status: 0 built, 1 the database is not empty, 2 bad input.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--years", default="1", help="how many years, 1 to 40 (default: 1)")
        parser.add_argument("--days", default="", help="so many days instead of whole years")
        parser.add_argument("--seed", default="1", help="a whole number; another one gives another past (default: 1)")
        parser.add_argument("--as-of", default="", help="the last day, YYYY-MM-DD (default: today)")
        parser.add_argument("--json", dest="as_json", action="store_true", help="print what was built as JSON")

    def handle(self, *, years: str, days: str, seed: str, as_of: str, as_json: bool, **options: Any) -> None:
        if not years.isdecimal() or not 1 <= int(years) <= MOST_YEARS:
            self.bad_input(f"--years takes a whole number from 1 to {MOST_YEARS}, not {years!r}.")
        if days and not (days.isdecimal() and 1 <= int(days) <= MOST_YEARS * 366):
            self.bad_input(f"--days takes a whole number of days, not {days!r}.")
        if not seed.isdecimal():
            self.bad_input(f"--seed takes a whole number such as 1, not {seed!r}.")
        try:
            last = date.fromisoformat(as_of) if as_of else clock.today("UTC")
        except ValueError:
            self.bad_input(f"--as-of takes a date such as 2026-10-14, not {as_of!r}.")
        length = int(days) if days else int(years) * 1461 // 4
        begun = time.monotonic()
        with tqdm(desc="building the past", unit="day", disable=None) as bar:

            def tell(done: int, days: int) -> None:
                bar.total = days
                bar.update(done - bar.n)

            try:
                past = build_history.build(
                    folder=settings.BASE_DIR / "fixtures", days=length, seed=int(seed), as_of=last, tell=tell
                )
            except Refusal as refused:
                self.stderr.write(str(refused))
                sys.exit(1)
        said = {
            "first_day": past.first.isoformat(),
            "last_day": past.last.isoformat(),
            "animals": past.animals,
            "gifts": past.books.gifts,
            "charges": past.books.charges,
            "entries": past.books.entries,
            "seconds": round(time.monotonic() - begun),
        }
        self.stdout.write(json.dumps(said, indent=2) if as_json else _words(said))


def _words(said: dict[str, Any]) -> str:
    return (
        f"A past from {said['first_day']} to {said['last_day']}: {said['animals']:,} animals, {said['gifts']:,} gifts, "
        f"{said['charges']:,} charges in {said['entries']:,} entries, built in {said['seconds']:,} seconds."
    )
