"""Builds the demo into an empty database: manage.py build_demo --as-of 2026-10-14"""

from datetime import date
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from tqdm import tqdm

from clinic.actions import build_demo
from clinic.actions.build_demo import diary
from clinic.formulas import rounds
from config import clock
from config.refusal import Refusal


class Command(BaseCommand):
    help = (
        "Build the demo into an empty database, lived day by day through the actions that people use. "
        "Example: manage.py build_demo --as-of 2026-10-14"
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("--as-of", default="", help="the demo's last day, YYYY-MM-DD (default: today)")

    def handle(self, *args, as_of: str, **options) -> None:
        try:
            day, until_round = (date.fromisoformat(as_of), "morning") if as_of else _present()
        except ValueError:
            raise CommandError(f"--as-of takes a date such as 2026-10-14, not {as_of!r}.", returncode=2) from None
        with tqdm(desc="building the demo", unit="day", disable=None) as bar:

            def tell(done: int, days: int) -> None:
                bar.total = days
                bar.update(done - bar.n)

            try:
                with transaction.atomic(durable=True):
                    signed = build_demo.build(
                        folder=settings.BASE_DIR / "fixtures", as_of=day, until_round=until_round, tell=tell
                    )
            except Refusal as refused:
                raise CommandError(str(refused), returncode=1) from None
        issued = build_demo.issue_papers(folder=settings.BASE_DIR / "fixtures", as_of=day)
        self.stdout.write(f"The demo stands, up to {day}: {signed} days signed off, {issued} papers issued.")


def _present() -> tuple[date, str]:
    """Return the ward's day and round at this moment, so that the demo is just now being lived."""
    says = diary.read(settings.BASE_DIR / "fixtures", as_of=date.min).says["house"]
    moment = clock.now()
    day = clock.ward_date(moment, zone=says["zone"], turns_at_hour=says["turns_at"])
    return day, rounds.present(moment.astimezone(ZoneInfo(says["zone"])).time())
