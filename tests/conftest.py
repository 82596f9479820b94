"""Arrangements that every test shares."""

import os

import pytest
from django.test import SimpleTestCase, TransactionTestCase
from hypothesis import HealthCheck, settings

from tests import own_database

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's sync interface runs an event loop

SOAK = bool(os.environ.get("SOAK"))
settings.register_profile(
    "test", max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=False
)
settings.register_profile("soak", parent=settings.get_profile("test"), max_examples=2_000)
settings.load_profile("soak" if SOAK else "test")

TransactionTestCase._fixture_teardown = lambda case: own_database.renew()


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings):
    with own_database.in_memory():
        yield


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), own_database.remembered():
        yield


DATABASES = {"db", "transactional_db", "live_server"}


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/browser/" in str(item.path):
            item.add_marker(pytest.mark.browser)
        if not _may_ask_the_database(item):
            item.add_marker(pytest.mark.no_database)


def _may_ask_the_database(item) -> bool:
    """Without one of these pytest-django lets no statement through, so that the engine cannot matter."""
    is_marked = item.get_closest_marker("django_db") or DATABASES & set(getattr(item, "fixturenames", ()))
    return bool(is_marked) or issubclass(getattr(item, "cls", None) or object, SimpleTestCase)


@pytest.fixture(autouse=True)
def backups_of_its_own(settings, tmp_path_factory):
    """No test sees the backups of the house that it runs in."""
    settings.BACKUP_ROOT = tmp_path_factory.getbasetemp() / "no-backups-yet"


@pytest.fixture(autouse=True)
def quick_passwords(settings):
    """A slow hash is right for people and wasted on tests."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
