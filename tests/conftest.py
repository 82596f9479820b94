"""Arrangements that every test shares."""

import os

import pytest
from django.db import connection
from django.test import TransactionTestCase
from hypothesis import HealthCheck, settings

from config import triggers

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's sync interface runs an event loop

SOAK = bool(os.environ.get("SOAK"))
settings.register_profile(
    "test", max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=False
)
settings.register_profile("soak", parent=settings.get_profile("test"), max_examples=2_000)
settings.load_profile("soak" if SOAK else "test")

_flush = TransactionTestCase._fixture_teardown


def _flush_without_guards(case):
    """Append-only rows cannot be deleted; a test's own database may be emptied, and its guards come back with it."""
    triggers.lift(connection)
    _flush(case)
    if connection.vendor and triggers.is_migrated(connection, "ledger_entry"):
        triggers.install(connection)


TransactionTestCase._fixture_teardown = _flush_without_guards


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/browser/" in str(item.path):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(autouse=True)
def backups_of_its_own(settings, tmp_path_factory):
    """No test sees the backups of the house that it runs in."""
    settings.BACKUP_ROOT = tmp_path_factory.getbasetemp() / "no-backups-yet"


@pytest.fixture(autouse=True)
def quick_passwords(settings):
    """A slow hash is right for people and wasted on tests."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
