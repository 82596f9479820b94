"""Says how long animals stay, by species."""

import json
from argparse import ArgumentTypeError
from datetime import date
from typing import Any

from django.core.management.base import CommandParser

from clinic.management.plain import PlainCommand
from clinic.queries.length_of_stay import AFTER, LengthOfStay, StaysOf, length_of_stay


def day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text} is no day. Write it as 2026-10-14.") from None


class Command(PlainCommand):
    help = "Say how long animals stay, by species, as it could be seen on a day."
    example = """
example:
  ./run manage length_of_stay --as-of 2026-10-14
  ./run manage length_of_stay --as-of 2026-10-14 --json

A stay that is still open counts as open: it has lasted at least so long. "After 30 days" is the share still in care
once those who left on day 30 have gone. Exit status: 0, or 2 where the day cannot be read.
"""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--as-of", metavar="DATE", type=day, required=True, help="the day from which to look back")
        parser.add_argument("--json", action="store_true", help="print the figures as JSON")

    def handle(self, *, as_of: date, **options: Any) -> None:
        found = length_of_stay(as_of=as_of)
        self.stdout.write(json.dumps(_as_json(found), indent=2) if options["json"] else _as_text(found))


def _as_json(found: LengthOfStay) -> dict[str, dict[str, object]]:
    return {
        stays.species: {
            "n": stays.count,
            "open": stays.open,
            "median_days": stays.median_days,
            "survival": {str(days): float(share) for days, share in stays.still.items()},
        }
        for stays in found.species
    }


def _as_text(found: LengthOfStay) -> str:
    if not found.species:
        return f"No stay had begun by {found.as_of}."
    return "\n".join(_line(stays) for stays in found.species)


def _line(stays: StaysOf) -> str:
    median = "half not yet gone" if stays.median_days is None else f"half gone by day {stays.median_days}"
    after = ", ".join(
        f"{'not known' if count is None else count} after {days}"
        for days, count in zip(AFTER, stays.in_100, strict=True)
    )
    return f"{stays.species}: {stays.count:,} stays, {stays.open:,} open; {median}; still here of 100: {after} days."
