"""Makes the house ready to be served: what ./run does before it starts the server."""

import tomllib

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from clinic.actions import build_demo, set_up
from clinic.models import House, User
from config import clock, upgrade


class Command(BaseCommand):
    help = (
        "Bring the database up to date, build the demo on a first start (--demo) or print the one-time code of the "
        "set-up page, and say where to go. Example: manage.py prepare --demo --address http://127.0.0.1:8000/"
    )

    def add_arguments(self, parser) -> None:
        parser.add_argument("--demo", action="store_true", help="build the demo when the database is empty")
        parser.add_argument("--address", default="http://127.0.0.1:8000/", help="the address to print")

    def handle(self, *args, demo: bool, address: str, **options) -> None:
        copy = upgrade.upgrade(backups=settings.VAR_DIR / "backups", at=clock.now())
        if copy:
            self.stdout.write(f"The database was brought up to date; a copy from before is kept at {copy}.")
        call_command("collectstatic", interactive=False, verbosity=0)
        if not House.objects.exists():
            self._found(demo, address)
        elif not _is_demo():
            self.stdout.write(f"Ward & Ledger is at {address}")
        if _is_demo():
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
        for person in _demo_people():
            self.stdout.write(f"  {person['sign_in']:<7} {person['name']}, {', '.join(person['roles'])}")


def _demo_people() -> list[dict]:
    return tomllib.loads((settings.BASE_DIR / "fixtures" / "demo.toml").read_text())["person"]


def _is_demo() -> bool:
    """Say whether this is the demo: its house and all of its people stand as the diary wrote them."""
    names = {person["sign_in"]: person["name"] for person in _demo_people()}
    found = dict(User.objects.filter(sign_in__in=names).values_list("sign_in", "name"))
    return found == names and House.objects.filter(name="Larkweir Veterinary Practice").exists()
