"""Builds the demo into an empty database: manage.py build_demo --as-of 2026-10-14"""

from datetime import date

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from tqdm import tqdm

from clinic.actions import build_demo
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
            day = date.fromisoformat(as_of) if as_of else clock.today("UTC")
        except ValueError:
            raise CommandError(f"--as-of takes a date such as 2026-10-14, not {as_of!r}.", returncode=2) from None
        with tqdm(desc="building the demo", unit="day", disable=None) as bar:

            def tell(done: int, days: int) -> None:
                bar.total = days
                bar.update(done - bar.n)

            try:
                with transaction.atomic(durable=True):
                    signed = build_demo.build(folder=settings.BASE_DIR / "fixtures", as_of=day, tell=tell)
            except Refusal as refused:
                raise CommandError(str(refused), returncode=1) from None
        self.stdout.write(f"The demo stands, up to {day}: {signed} days signed off.")
