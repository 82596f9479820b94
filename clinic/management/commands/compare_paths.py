"""Compares a staged path with the single procedure from a plan in a file, without a database."""

import json
from pathlib import Path

from django.core.management.base import CommandParser

from clinic.forms import compare_paths as form
from clinic.management.plain import PlainCommand
from clinic.queries import compare_paths as query


class Command(PlainCommand):
    help = "Compare going on with a staged path, making all its operations, and converting to the single procedure now."
    example = """
example, plan.json:
  {"currency": "USD", "spent_so_far": "0.00", "daily_cost": "0.00",
   "staged": {"attempts": [{"cost": "1200.00", "success": 0.60, "days": 21},
                           {"cost": "1500.00", "success": 0.45, "days": 21}],
              "after_success": {"cost": "0.00", "days": 0}},
   "fallback": {"cost": "2600.00", "days": 4},
   "single": {"cost": "2600.00", "days": 4, "complication": {"probability": 0.0, "cost": "0.00"}}}

  ./run manage compare_paths plan.json
  ./run manage compare_paths plan.json --json
"""
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path, help="the plan, as JSON")
        parser.add_argument("--json", action="store_true", help="print the answer as JSON")

    def handle(self, *, file: Path, **options: object) -> None:
        try:
            plan = form.read_file(path=file)
        except form.BadPlanFile as obstacle:
            self.bad_input(obstacle)
        answer = query.compare_paths(file=plan)
        self.stdout.write(json.dumps(answer, indent=2) if options["json"] else query.as_text(answer, plan.currency))
