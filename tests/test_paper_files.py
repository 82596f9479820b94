"""A paper is drawn with the house's own files and pictures that stand in it; anything else ends the drawing."""

import base64

import pytest

from config import render
from tests.test_uploads import picture

INSIDE = f"data:image/jpeg;base64,{base64.b64encode(picture()).decode()}"


def paper(address: str) -> str:
    body = f'<body><img src="{address}" alt="x"></body>'
    return f'<!doctype html><html lang="en-US"><head><title>A paper</title></head>{body}</html>'


@pytest.mark.parametrize(
    "address",
    [
        "https://elsewhere.example/x.png",
        "file:///etc/passwd",
        "/etc/passwd",
        "/media/../secret_key",
        "/static/../manage.py",
        "data:image/svg+xml;base64,PHN2Zy8+",
        "data:text/html,<b>x</b>",
    ],
)
def test_what_is_not_the_houses_own_is_not_printed(settings, tmp_path, address):
    settings.MEDIA_ROOT = tmp_path / "media"
    (tmp_path / "secret_key").write_text("secret")

    with pytest.raises(render.PaperNotPrinted, match="not the clinic's own"):
        render.draw(paper(address))


def test_own_files_and_pictures_in_the_paper_are_printed(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    (tmp_path / "photo.jpg").write_bytes(picture())

    for address in (INSIDE, "/media/photo.jpg"):
        assert b"/Subtype /Image" in render.draw(paper(address))
