"""What a paper may fetch while it is drawn: the house's own files and a picture that it holds itself, nothing else."""

import mimetypes
import re
from base64 import b64decode
from pathlib import Path
from urllib.parse import unquote, urlparse

from django.conf import settings
from django.contrib.staticfiles import finders
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

PICTURE_ITSELF = re.compile(r"data:(?P<type>image/(jpeg|png|webp));base64,(?P<content>[A-Za-z0-9+/=]+)")


class OwnFiles(URLFetcher):
    """Serves own files by their address; any other address ends the drawing."""

    def __init__(self) -> None:
        super().__init__(allowed_protocols=(), allow_redirects=False, fail_on_errors=True)

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:
        if held := PICTURE_ITSELF.fullmatch(url):
            return URLFetcherResponse(url, b64decode(held["content"]), {"Content-Type": held["type"]})
        if file := _own(url):
            kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
            return URLFetcherResponse(url, file.read_bytes(), {"Content-Type": kind})
        raise FatalURLFetchingError(url)


def _own(url: str) -> Path | None:
    path = unquote(urlparse(url).path)
    for prefix, folder in (("/static/", None), ("/media/", Path(settings.MEDIA_ROOT))):
        if url.startswith(("paper:", "/")) and path.startswith(prefix):
            name = path.removeprefix(prefix)
            found = finders.find(name) if folder is None else str(folder / name)
            inside = found and (folder is None or Path(found).resolve().is_relative_to(folder.resolve()))
            if inside and Path(found).is_file():
                return Path(found)
    return None
