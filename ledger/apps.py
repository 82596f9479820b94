"""The room of the money: who gave it, for what, and where it went."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class LedgerConfig(AppConfig):
    name = "ledger"

    def ready(self) -> None:
        from config import home
        from ledger import checks  # noqa: F401
        from ledger.queries import holder

        home.ask(holder.digits)
        pre_migrate.connect(_lift_guards, sender=self)
        post_migrate.connect(_seed_and_guard, sender=self)


def _lift_guards(using, plan=(), **kwargs) -> None:
    """A rebuilt table would lose its triggers, and a trigger that names it would stop the rebuild."""
    from django.db import connections

    from config import triggers

    if plan:
        triggers.lift(connections[using], "ledger")


def _seed_and_guard(using, **kwargs) -> None:
    """Rows made by a migration vanish in a flush, so they are made again after every migrate."""
    from django.db import connections

    from config import triggers
    from ledger.models import accounts, books

    if not triggers.is_migrated(connections[using], "ledger_entry"):
        return
    books.seed(using)
    accounts.seed(using)
    triggers.install(connections[using], "ledger")
