"""A real Chromium, one for the whole run, and pages in it signed in as whom a test needs."""

import pytest
from django.conf import settings as django_settings
from django.test import Client
from playwright.sync_api import sync_playwright

PATIENCE_MS = 60_000  # two browsers share two cores in the gate
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def chromium():
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        yield browser
        browser.close()


def sign_in(context, user, address: str) -> None:
    """Sign somebody in on this device; a page that is open does not know yet."""
    client = Client()
    client.force_login(user)
    cookie = client.cookies[django_settings.SESSION_COOKIE_NAME]
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": address}])


@pytest.fixture
def open_page(chromium, live_server):
    """Return a function that opens a page: signed in as `user` or nobody, so many pixels wide.

    What the browser complains of, the content policy's refusals among it, is gathered in `page.complaints`.
    """
    contexts = []

    def open_one(
        user=None,
        *,
        width: int = 1280,
        height: int = 800,
        bypass_csp: bool = False,
        scripts: bool = True,
        touch: bool = False,
    ):
        context = chromium.new_context(
            base_url=live_server.url,
            viewport={"width": width, "height": height},
            bypass_csp=bypass_csp,
            java_script_enabled=scripts,
            has_touch=touch,
        )
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        if user is not None:
            sign_in(context, user, live_server.url)
        page = context.new_page()
        page.complaints = []
        page.on(
            "console", lambda said: page.complaints.append(said.text) if said.type in {"error", "warning"} else None
        )
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        return page

    yield open_one
    for context in contexts:
        context.close()
