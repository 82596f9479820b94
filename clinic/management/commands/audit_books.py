"""Asks every promise of the books and of care again, from raw rows."""

import json
import sys
from typing import Any

from django.core.management.base import CommandParser

from clinic import audit as care
from clinic.management.plain import PlainCommand
from config import upgrade
from ledger import audit as books


class Command(PlainCommand):
    help = "Ask every promise of the books and of care again, by another way than the one that wrote them."
    example = """
example:
  ./run manage audit_books
  ./run manage audit_books --json

Exit status: 0 every promise is kept, 1 something is off (each finding is a sentence), 2 the database is not ready.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", dest="as_json", action="store_true", help="print checks and findings as JSON")

    def handle(self, *, as_json: bool, **options: Any) -> None:
        if upgrade.pending():
            self.bad_input(
                "This database is not up to date, so nothing was audited. Start once with ./run, which updates it."
            )
        found = (books.audit(), care.audit())
        checks = sum(one.checks for one in found)
        findings = [sentence for one in found for sentence in one.findings]
        self.stdout.write(_as_json(checks, findings) if as_json else _as_words(checks, findings))
        if findings:
            sys.exit(1)


def _as_json(checks: int, findings: list[str]) -> str:
    return json.dumps({"checks": checks, "findings": findings}, ensure_ascii=False, indent=2)


def _as_words(checks: int, findings: list[str]) -> str:
    said = "every one is kept" if not findings else f"{len(findings)} found broken"
    return "\n".join([*findings, f"{checks} promises asked again: {said}."])
