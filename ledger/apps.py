"""The money room: who gave it, for what, and where it went. It knows nothing of animals."""

from django.apps import AppConfig


class LedgerConfig(AppConfig):
    name = "ledger"
