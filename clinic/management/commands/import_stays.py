"""Brings a CSV file of stays into the clinic, or says what it would do."""

import csv
import json
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandParser
from django.db import DatabaseError, transaction
from tqdm import tqdm

from clinic.actions import import_stays as action
from clinic.forms import import_stays as form
from clinic.forms import stay_row
from clinic.management.plain import PlainCommand
from clinic.models import House
from clinic.queries import import_stays as query
from config import clock

SAID_MOST = 20


class Command(PlainCommand):
    help = "Bring past stays into the clinic from a CSV file: all of them, or none."
    example = """
example:
  ./run manage import_stays stays.csv --check
  ./run manage import_stays stays.csv --keep-good --json

Its first line names the columns, in any order: animal_id, animal_type, sex, dob, intake_date, intake_condition,
intake_type, outcome_date, outcome_type. Dates are written 2017-01-31; the text is UTF-8. The same file twice
adds nothing. A row that overlaps an accepted stay of its animal is refused; a birth date after the admission is
set aside. Exit status: 0 all good, 1 some rows refused, 2 the file cannot be read as it is.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path, help="the stays, as CSV in UTF-8")
        parser.add_argument("--check", action="store_true", help="say what would happen and change nothing")
        parser.add_argument("--json", action="store_true", help="print the counts as JSON")
        parser.add_argument(
            "--keep-good", action="store_true", help="bring in the good rows and write the refused ones to a file"
        )
        parser.add_argument("--refused-to", metavar="FILE", type=Path, help="where to write the refused rows")

    def handle(self, *, file: Path, **options: Any) -> None:
        try:
            self._import(file, **options)
        except form.BadStaysFile as obstacle:
            self.bad_input(obstacle)
        except OSError as obstacle:
            self.bad_input(f"{obstacle.filename} cannot be written: {obstacle.strerror}. No stay was added.")
        except DatabaseError as obstacle:
            self.bad_input(
                f"The database could not take the stays, so none was added: {str(obstacle).splitlines()[0]}."
            )

    def _import(self, path: Path, *, check: bool, keep_good: bool, **options: Any) -> None:
        house = House.objects.first()
        today = clock.today(house.time_zone if house else "UTC")
        file = form.read_file(path=path, today=today)
        if file.wrong and not keep_good:
            raise form.BadStaysFile(_wrong_lines(file))
        judged = query.judge(file=file)
        to_write = not check and (keep_good or not judged.refused)
        refused_file = _write_refused(judged, options["refused_to"]) if to_write and judged.refused else None
        if to_write and judged.judgment.accepted:
            copy = _keep_copy(file)
            with transaction.atomic(durable=True):
                judged = action.import_stays(
                    file=file, copy=copy, keep_good=keep_good, at=clock.now(), watched=_watched
                )
        report = query.report(judged=judged, today=today)
        report["written"] = report["accepted"] if to_write else 0
        if refused_file:
            report["refused_file"] = str(refused_file)
        self.stdout.write(json.dumps(report, indent=2) if options["json"] else _as_text(report, check))
        self._say(judged)
        if judged.refused:
            sys.exit(1)

    def _say(self, judged: query.JudgedFile) -> None:
        remarks = [*judged.refused, *judged.file.warnings]
        for remark in remarks[:SAID_MOST]:
            self.stderr.write(f"Line {remark.line}: {remark.sentence}")
        if len(remarks) > SAID_MOST:
            self.stderr.write(f"… and {len(remarks) - SAID_MOST} more.")


def _wrong_lines(stays: form.StaysFile) -> str:
    first, *others = stays.wrong
    more = f" {len(others):,} more lines are wrong." if others else ""
    return f"Line {first.line}: {first.sentence}{more} Nothing was written."


def _watched(pages: list) -> tqdm:
    return tqdm(pages, desc="Stays, 500 at a time", file=sys.stderr, disable=None, leave=False)


def _keep_copy(stays: form.StaysFile) -> str:
    """Keep the file under its own SHA-256, so that the same file is kept once."""
    name = f"imports/{stays.sha256}.csv"
    place = Path(settings.MEDIA_ROOT) / name
    if not place.exists():
        place.parent.mkdir(parents=True, exist_ok=True)
        beside = place.with_suffix(".part")
        beside.write_bytes(stays.content)
        beside.replace(place)
    return name


def _write_refused(judged: query.JudgedFile, where: Path | None) -> Path:
    place = where or Path(settings.MEDIA_ROOT) / "imports" / f"{judged.file.sha256}.refused.csv"
    place.parent.mkdir(parents=True, exist_ok=True)
    with place.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["line", "why", *stay_row.COLUMNS])
        for remark in judged.refused:
            writer.writerow([remark.line, *(_plain(cell) for cell in (remark.sentence, *remark.cells))])
    return place


def _plain(cell: str) -> str:
    """A cell that a spreadsheet would compute is written as text."""
    return f"'{cell}" if cell.startswith(("=", "+", "-", "@", "\t")) else cell


def _as_text(report: dict[str, Any], check: bool) -> str:
    done = "would be added" if check else "added"
    count = report["accepted"] if check else report["written"]
    lines = [
        f"{report['rows']:,} rows of {report['animals']:,} animals: {count:,} {done}, "
        f"{report['already_there']:,} there already, {report['refused']:,} refused, {report['warnings']:,} warnings.",
    ]
    lines += [f"Nights {year}: {nights:,}" for year, nights in report["nights"].items()]
    if report["refused"] and not report["written"] and not check and not report.get("refused_file"):
        lines.append("Nothing was written. Mend the refused rows, or bring in the others with --keep-good.")
    if "refused_file" in report:
        lines.append(f"The refused rows are in {report['refused_file']}.")
    return "\n".join(lines)
