"""Both engines are set as the settings say, and models and migrations agree."""

import pytest
from django.core.management import call_command
from django.db import connection

from config import checks

pytestmark = pytest.mark.django_db


def test_models_and_migrations_agree():
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def test_engine_settings_are_read_back():
    found = [message for message in checks.engine_settings(databases=["default"]) if message.id != "house.I001"]

    assert found == []


def test_a_setting_that_did_not_arrive_is_found():
    statement = "PRAGMA synchronous=OFF" if connection.vendor == "sqlite" else "SET synchronous_commit = off"
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite" and connection.in_atomic_block:
            cursor.execute("PRAGMA busy_timeout=1")
        else:
            cursor.execute(statement)

    found = [message.id for message in checks.engine_settings(databases=["default"]) if message.id != "house.I001"]
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout=20000" if connection.vendor == "sqlite" else "SET synchronous_commit = on")

    assert found in (["house.E001"], ["house.E002"])
