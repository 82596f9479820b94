"""Makes the house ready to be served: what ./run does before it starts the server."""

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from clinic import audit as care
from clinic.actions import build_demo, set_up
from clinic.models import House
from clinic.queries.demo import demo_people, is_demo
from config import clock, upgrade
from config.refusal import Refusal
from ledger import audit as books


class Command(BaseCommand):
    help = (
        "Bring the database up to date, build the demo on a first start (--demo) or print the one-time code of the "
        "set-up page, and say where to go. Example: manage.py prepare --demo --address http://127.0.0.1:8000/"
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("--demo", action="store_true", help="build the demo when the database is empty")
        parser.add_argument(
            "--without-backup", action="store_true", help="update without a backup, because you have made your own"
        )
        parser.add_argument("--address", default="http://127.0.0.1:8000/", help="the address to print")

    def handle(self, *args, demo: bool, without_backup: bool, address: str, **options) -> None:
        try:
            copy = upgrade.upgrade(
                root=settings.BACKUP_ROOT, at=clock.real_now(), audit=_findings, with_backup=not without_backup
            )
        except Refusal as refused:
            raise CommandError(str(refused), returncode=1) from None
        if copy:
            self.stdout.write(f"The database was brought up to date; a copy from before is kept at {copy.folder}.")
        call_command("collectstatic", interactive=False, verbosity=0)
        if not House.objects.exists():
            self._found(demo, address)
        elif not is_demo():
            self.stdout.write(f"Ward & Ledger is at {address}")
        if is_demo():
            self._sign_ins(address)

    def _found(self, demo: bool, address: str) -> None:
        if demo:
            self.stdout.write("Building the demo: six months of an invented clinic, in a few seconds.")
            call_command("build_demo", stdout=self.stdout, stderr=self.stderr)
            return
        try:
            with transaction.atomic(durable=True):
                code = set_up.offer_code(at=clock.now())
        except set_up.HouseStands as stands:
            raise CommandError(str(stands)) from None
        self.stdout.write(f"Open {address}set-up/ and write this code, which works once: {code}")

    def _sign_ins(self, address: str) -> None:
        self.stdout.write(f"Ward & Ledger, the demo, is at {address}")
        self.stdout.write(f"Everybody's password is {build_demo.DEMO_PASSWORD}. Sign in as")
        for person in demo_people():
            self.stdout.write(f"  {person['sign_in']:<7} {person['name']}, {', '.join(person['roles'])}{_code(person)}")


def _code(person: dict) -> str:
    return f" (on a shared tablet {person['initials']} {person['code']})" if "code" in person else ""


def _findings() -> list[str]:
    return [*books.audit().findings, *care.audit().findings]
