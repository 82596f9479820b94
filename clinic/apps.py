"""The care room: animals, what is done for them, and the papers that tell people about it."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class ClinicConfig(AppConfig):
    name = "clinic"

    def ready(self) -> None:
        from clinic import checks  # noqa: F401
        from clinic.actions import bills
        from clinic.queries import house
        from config import home
        from config.backups.restoring import put_back
        from ledger.actions.bills import paid

        home.ask_for_zone(house.zone)
        home.ask_for_person(house.person)
        home.ask_for_logo(house.logo)
        home.ask_for_signatory(house.signatory)

        paid.connect(bills.tell_paid)
        put_back.connect(_erase_again)
        pre_migrate.connect(_lift_guards, sender=self)
        post_migrate.connect(_guard, sender=self)


def _lift_guards(using, plan=(), **kwargs) -> None:
    from django.db import connections

    from config import triggers

    if plan:
        triggers.lift(connections[using], "clinic")


def _guard(using, **kwargs) -> None:
    from django.db import connections

    from config import triggers

    if triggers.is_migrated(connections[using], "clinic_careitem"):
        triggers.install(connections[using], "clinic")


def _erase_again(folder=None, **kwargs) -> None:
    """A copy that was put back may hold donors who were erased since, and papers that were destroyed: the lists beside
    the backups name them."""
    from pathlib import Path

    from django.conf import settings

    from clinic.actions.destroy_papers import destroy_again
    from clinic.actions.erase_donor import erase_again
    from config.backups import outliving

    roots = [Path(settings.BACKUP_ROOT), *([folder.parent] if folder else [])]
    erase_again(lines=outliving.read(*roots))
    destroy_again(lines=outliving.read(*roots, name=outliving.DESTROYED))
