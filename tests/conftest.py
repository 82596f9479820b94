"""Arrangements that every test shares."""

import os

import pytest
from hypothesis import HealthCheck, settings

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's sync interface runs an event loop

SOAK = bool(os.environ.get("SOAK"))
settings.register_profile(
    "test", max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=False
)
settings.register_profile("soak", parent=settings.get_profile("test"), max_examples=2_000)
settings.load_profile("soak" if SOAK else "test")


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/browser/" in str(item.path):
            item.add_marker(pytest.mark.browser)
