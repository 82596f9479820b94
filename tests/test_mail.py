"""The environment names the mail server; without one letters are files, and one half named is one sentence."""

from pathlib import Path

import pytest
from django.core.mail import get_connection

from config.mail import FILES, SMTP, mail

NAMED = {"EMAIL_HOST": "mail.clinic.example", "EMAIL_FROM": "Papers <papers@clinic.example>"}


def settings_of(**said: str) -> dict:
    return mail(said, Path("var/mail"))


def test_without_a_server_letters_are_files():
    found = settings_of()

    assert (found["EMAIL_BACKEND"], found["EMAIL_FILE_PATH"]) == (FILES, Path("var/mail"))


@pytest.mark.parametrize(
    ("tls", "port", "starttls", "ssl"), [("", 587, True, False), ("ssl", 465, False, True), ("no", 25, False, False)]
)
def test_a_named_server_is_what_django_connects_to(settings, tls, port, starttls, ssl):
    for name, value in settings_of(**NAMED, EMAIL_TLS=tls, EMAIL_USER="papers", EMAIL_PASSWORD="a word").items():
        setattr(settings, name, value)

    server = get_connection(settings_of(**NAMED)["EMAIL_BACKEND"])

    assert settings_of(**NAMED)["EMAIL_BACKEND"] == SMTP
    assert (server.host, server.port, server.username, server.password) == (
        "mail.clinic.example", port, "papers", "a word",
    )  # fmt: skip
    assert (server.use_tls, server.use_ssl, server.timeout) == (starttls, ssl, 20)
    assert settings.DEFAULT_FROM_EMAIL == "Papers <papers@clinic.example>"


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"EMAIL_HOST": "mail.clinic.example"}, "EMAIL_FROM is not"),
        (NAMED | {"EMAIL_TLS": "perhaps"}, "starttls, ssl or no"),
        (NAMED | {"EMAIL_PORT": "many"}, "Set it to a number, such as 587"),
    ],
)
def test_a_setting_half_made_is_one_sentence(said, sentence):
    with pytest.raises(ValueError, match=sentence):
        settings_of(**said)
