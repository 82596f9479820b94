"""System check: the triggers that seal signed-off rows are all in place (clinic.E001)."""

from django.core import checks
from django.db import connections

from config import triggers

HINT = "Run manage.py migrate --skip-checks; until then nothing is signed off."


@checks.register(checks.Tags.database)
def guards_in_place(app_configs=None, databases=None, **kwargs):
    found = []
    for alias in databases or []:
        connection = connections[alias]
        if triggers.is_migrated(connection, "clinic_careitem"):
            found += [
                checks.Error(sentence, hint=HINT, id="clinic.E001")
                for sentence in triggers.verify(connection, "clinic")
            ]
    return found
