"""System check: the triggers that keep the books are all in place (ledger.E001)."""

from django.core import checks
from django.db import connections

from config import triggers

HINT = "Run manage.py migrate --skip-checks; until then nothing is posted."


@checks.register(checks.Tags.database)
def guards_in_place(app_configs=None, databases=None, **kwargs):
    found = []
    for alias in databases or []:
        connection = connections[alias]
        if triggers.is_migrated(connection, "ledger_entry"):
            found += [
                checks.Error(sentence, hint=HINT, id="ledger.E001")
                for sentence in triggers.verify(connection, "ledger")
            ]
    return found
