"""Takes in the statements of a bank's file, or says what it would do."""

import json
import sys
import uuid
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.db import DatabaseError, transaction

from clinic.management.plain import PlainCommand
from clinic.models import User
from clinic.views import present
from config import figures, home
from config.refusal import Refusal
from ledger.actions import bank_files as actions
from ledger.formulas.bank_files import MOST_MINOR, written
from ledger.queries import bank as bank_queries
from ledger.queries.bank_files import Judged


class Command(PlainCommand):
    help = "Take in a bank's statements from a file: OFX, ISO 20022 camt.053, or a table (CSV, XLSX)."
    example = """
example:
  ./run manage import_bank october.xml --check
  ./run manage import_bank october.ofx --by greta --json
  ./run manage import_bank october.csv --account "Checking" --closing 1204.55

What a statement opens with and what moved must make what it closes with; only booked lines count; the same file
twice adds nothing. The columns of a table are guessed by their heads, or as they were said on the bank's page.
Exit status: 0 all good, 1 taken in, and the balances of an account do not lead from one statement to the next,
2 the file cannot be read or taken in as it is.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path, help="the file as the bank gave it")
        parser.add_argument("--check", action="store_true", help="say what would happen and change nothing")
        parser.add_argument("--json", action="store_true", help="print what was found as JSON")
        parser.add_argument("--by", default="", metavar="SIGN-IN", help="who brings it")
        parser.add_argument("--account", default="", metavar="NAME", help="of a table: the account, by its name here")
        parser.add_argument("--closing", default="", metavar="AMOUNT", help="of a table without balances: its last one")

    def handle(self, *, file: Path, **options: Any) -> None:
        now = present.read()
        try:
            content = file.read_bytes()
            said = {
                "content": content,
                "name": file.name,
                "account": options["account"],
                "closing_minor": self._closing(options["closing"]),
                "by": self._who(options["by"]),
                "at": now.at,
            }
            found = self._taken(said, check=options["check"], today=now.today)
        except OSError as obstacle:
            self.bad_input(f"{file} cannot be read: {obstacle.strerror}. Nothing was read.")
        except Refusal as refused:
            self.bad_input(refused)
        except DatabaseError as obstacle:
            self.bad_input(f"The database could not take it, so nothing was taken in: {str(obstacle).splitlines()[0]}.")
        gaps = [] if options["check"] else bank_queries.gaps()
        report = _report(found, check=options["check"], gaps=gaps)
        self.stdout.write(json.dumps(report, indent=2) if options["json"] else _as_text(report))
        if gaps:
            sys.exit(1)

    def _taken(self, said: dict[str, Any], *, check: bool, today: date) -> tuple[Judged, ...]:
        if check:
            facts = {name: said[name] for name in ("content", "account", "closing_minor")}
            return actions.judge(**facts, today=today)
        with transaction.atomic(durable=True):
            kept = actions.bring(key=uuid.uuid4(), **said)
            return actions.take_in(file=kept, today=today, by=said["by"], at=said["at"])

    def _who(self, sign_in: str) -> int | None:
        person = User.objects.filter(sign_in=sign_in).first() if sign_in else None
        if sign_in and person is None:
            self.bad_input(f"Nobody signs in as {sign_in}. Nothing was read.")
        return person.pk if person else None

    def _closing(self, text: str) -> int | None:
        if not text:
            return None
        amount = figures.figure(text)
        minor = amount.scaleb(home.digits()) if amount is not None else None
        if minor is None or abs(minor) > MOST_MINOR or minor != minor.to_integral_value():
            self.bad_input(f"{text[:40]} is no amount such as 1204.55. Nothing was read.")
        return int(minor)


def _report(found: tuple[Judged, ...], *, check: bool, gaps: list) -> dict[str, Any]:
    return {
        "check": check,
        "statements": [_statement(one) for one in found],
        "new": sum(len(one.new) for one in found),
        "already_there": sum(one.known for one in found),
        "gaps": [gap.sentence for gap in gaps],
    }


def _statement(one: Judged) -> dict[str, Any]:
    said = one.statement
    figures = {"opening": said.opening_minor, "moved": said.moved_minor, "closing": said.closing_minor}
    return {
        "account": one.account_name,
        "currency": said.currency,
        "from": said.from_on.isoformat(),
        "to": said.to_on.isoformat(),
        **{name: written(minor, said.currency).rpartition(" ")[0].replace(",", "") for name, minor in figures.items()},
        "lines": len(one.lines),
        "new": len(one.new),
        "already_there": one.known,
        "not_booked": said.not_booked,
    }


def _as_text(report: dict[str, Any]) -> str:
    lines = [
        f"{one['account']}, {one['from']} to {one['to']}: {one['opening']} and {one['moved']} moved make "
        f"{one['closing']} {one['currency']}. {one['lines']} lines, {one['already_there']} there already."
        for one in report["statements"]
    ]
    done = "would be taken in" if report["check"] else "taken in"
    return "\n".join([*lines, f"{report['new']} lines {done}.", *report["gaps"]])
