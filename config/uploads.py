"""Files that people bring: judged by their content, written anew without what they carry along, kept by their digest.

FileRefused
├── FileTooLarge     more than anybody's photograph or scan needs
├── TooManyPixels    a picture that would fill the memory
├── FileUnknown      neither a photograph nor a PDF
├── NoPicture        not a photograph, where only one will do
└── FileBroken       it says what it is, and cannot be read
"""

import hashlib
import os
from contextlib import suppress
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from django import forms
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from config.refusal import Refusal

MOST_BYTES = 12 * 1024 * 1024
MOST_PIXELS = 60_000_000
LONGEST_SIDE = 2400
QUALITY = 85
PDF = "application/pdf"
# What each accepted picture is written anew as: the format, its content type and its ending.
PICTURES = {"JPEG": ("image/jpeg", "jpg"), "PNG": ("image/png", "png"), "WEBP": ("image/webp", "webp")}
# Tables that are kept byte for byte, since what was recorded is told by them.
CSV, XLSX = "text/csv", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
TABLES = {CSV: "csv", XLSX: "xlsx"}
OFX, XML = "application/x-ofx", "application/xml"
ENDINGS = {PDF: "pdf", **TABLES, OFX: "ofx", XML: "xml", **dict(PICTURES.values())}


class FileRefused(Refusal):
    field = "file"


class FileTooLarge(FileRefused):
    def __init__(self) -> None:
        super().__init__("The file has more than 12 MB. Nothing was kept. Photograph it smaller, or scan it anew.")


class TooManyPixels(FileRefused):
    def __init__(self) -> None:
        super().__init__(
            f"The picture has more than {MOST_PIXELS // 1_000_000} million points. Nothing was kept. "
            "Photograph it smaller."
        )


class NoPicture(FileRefused):
    def __init__(self) -> None:
        super().__init__("This is no photograph (JPEG, PNG, WebP). Nothing was kept. Take a photo, or choose one.")


class FileUnknown(FileRefused):
    def __init__(self) -> None:
        super().__init__(
            "This is neither a photograph (JPEG, PNG, WebP) nor a PDF. Nothing was kept. Photograph the paper instead."
        )


class FileBroken(FileRefused):
    def __init__(self) -> None:
        super().__init__("The file cannot be read: it is broken or locked. Nothing was kept. Photograph the paper.")


@dataclass(frozen=True, kw_only=True)
class KeptFile:
    """A file as it is kept: its place below the media folder follows from its digest."""

    sha256: str
    content_type: str
    size: int

    @property
    def name(self) -> str:
        return f"{self.sha256[:2]}/{self.sha256}.{ENDINGS[self.content_type]}"


def keep(content: bytes, *, pictures_only: bool = False) -> KeptFile:
    """Judge a file, write it anew without its metadata and keep it; the same content is kept once.

    :raises FileRefused: when it is too large, of another kind, or broken.
    """
    return keep_made(*(_picture_alone(content) if pictures_only else _clean(content)))


def keep_made(content: bytes, content_type: str) -> KeptFile:
    """Keep what the house has made itself, byte for byte: a paper that was issued."""
    kept = KeptFile(sha256=hashlib.sha256(content).hexdigest(), content_type=content_type, size=len(content))
    path = _path(kept)
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_suffix(f".{os.getpid()}.new")
        with draft.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    return kept


def taken(
    form: forms.Form, upload: UploadedFile, *, field: str = "file", pictures_only: bool = False
) -> KeptFile | None:
    """Keep what a form brought, before any transaction; a refusal is told at the file's field and gives None."""
    try:
        return keep(upload.read(MOST_BYTES + 1), pictures_only=pictures_only)
    except FileRefused as refused:
        form.add_error(field, str(refused))
        return None


def read(*, sha256: str, content_type: str) -> bytes | None:
    """Return a kept file's bytes, or None where it is missing or not what was kept."""
    with suppress(FileNotFoundError):
        content = _path(KeptFile(sha256=sha256, content_type=content_type, size=0)).read_bytes()
        if hashlib.sha256(content).hexdigest() == sha256:
            return content
    return None


def exists(*, sha256: str, content_type: str) -> bool:
    return _path(KeptFile(sha256=sha256, content_type=content_type, size=0)).exists()


def remove(*, sha256: str, content_type: str) -> None:
    """Take a kept file away: its place is empty when this returns."""
    _path(KeptFile(sha256=sha256, content_type=content_type, size=0)).unlink(missing_ok=True)


def _path(kept: KeptFile) -> Path:
    return Path(settings.MEDIA_ROOT) / "kept" / kept.name


def _clean(content: bytes) -> tuple[bytes, str]:
    if len(content) > MOST_BYTES:
        raise FileTooLarge
    if content[:1024].lstrip().startswith(b"%PDF-"):
        return _pdf(content), PDF
    return _picture(content)


def _picture_alone(content: bytes) -> tuple[bytes, str]:
    if len(content) > MOST_BYTES:
        raise FileTooLarge
    try:
        return _picture(content)
    except FileUnknown:
        raise NoPicture from None


def _picture(content: bytes) -> tuple[bytes, str]:
    from PIL import Image, ImageOps

    try:
        with Image.open(BytesIO(content), formats=list(PICTURES)) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise TooManyPixels
            form = opened.format or ""
            upright = ImageOps.exif_transpose(opened).convert("RGBA" if "A" in opened.getbands() else "RGB")
    except Image.UnidentifiedImageError:
        raise FileUnknown from None
    except Image.DecompressionBombError:
        raise TooManyPixels from None
    except (OSError, SyntaxError, ValueError):
        raise FileBroken from None
    if form == "JPEG":
        upright = upright.convert("RGB")
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    bare = Image.new(upright.mode, upright.size)
    bare.paste(upright)
    written = BytesIO()
    bare.save(written, format=form, **({} if form == "PNG" else {"quality": QUALITY}))
    return written.getvalue(), PICTURES[form][0]


def _pdf(content: bytes) -> bytes:
    """Write the pages of a PDF anew, without its title, its author, its attachments and anything that runs."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.errors import PyPdfError

    try:
        reader = PdfReader(BytesIO(content))
        if reader.is_encrypted or not reader.pages:
            raise FileBroken
        writer = PdfWriter()
        for page in reader.pages:
            for name in ("/AA", "/Annots", "/Metadata"):
                page.pop(name, None)
            writer.add_page(page)
        writer.metadata = None
        written = BytesIO()
        writer.write(written)
    except (PyPdfError, OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise FileBroken from None
    return written.getvalue()
