"""The mail server that the environment names; without one, letters are written into files and reach nobody."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings

FILES = "django.core.mail.backends.filebased.EmailBackend"
SMTP = "django.core.mail.backends.smtp.EmailBackend"
PATIENCE_SECONDS = 20
PORTS = {"starttls": 587, "ssl": 465, "no": 25}


def mail(said: Mapping[str, str], files: Path) -> dict[str, Any]:
    """Return Django's settings for the mail server in `said`; EMAIL_TLS is starttls (the default), ssl or no.

    >>> mail({}, Path("var/mail"))["EMAIL_BACKEND"] == FILES
    True
    """
    host, tls = said.get("EMAIL_HOST", ""), said.get("EMAIL_TLS", "").lower() or "starttls"
    sender = said.get("EMAIL_FROM", "")
    if tls not in PORTS:
        raise ValueError(f"EMAIL_TLS is “{tls}”. Set it to starttls, ssl or no.")
    if host and not sender:
        raise ValueError("EMAIL_HOST is set and EMAIL_FROM is not. Set it to the address that letters come from.")
    port = said.get("EMAIL_PORT", "") or str(PORTS[tls])
    if not (port.isascii() and port.isdecimal()):
        raise ValueError(f"EMAIL_PORT is “{port}”. Set it to a number, such as {PORTS[tls]}.")
    return {
        "EMAIL_BACKEND": said.get("EMAIL_BACKEND", "") or (SMTP if host else FILES),
        "EMAIL_FILE_PATH": files,
        "EMAIL_HOST": host,
        "EMAIL_PORT": int(port),
        "EMAIL_HOST_USER": said.get("EMAIL_USER", ""),
        "EMAIL_HOST_PASSWORD": said.get("EMAIL_PASSWORD", ""),
        "EMAIL_USE_TLS": tls == "starttls",
        "EMAIL_USE_SSL": tls == "ssl",
        "EMAIL_TIMEOUT": PATIENCE_SECONDS,
        "DEFAULT_FROM_EMAIL": sender or "nobody@localhost",
    }


def is_into_files() -> bool:
    return bool(settings.EMAIL_BACKEND == FILES)
