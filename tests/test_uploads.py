"""Files that people bring: judged by content, written anew without what they carry along, kept once."""

import struct
import zlib
from io import BytesIO

import pytest
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject

from config import uploads


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def picture(form: str = "JPEG", size: tuple[int, int] = (40, 20), **facts) -> bytes:
    made = BytesIO()
    Image.new("RGB", size, "white").save(made, format=form, **facts)
    return made.getvalue()


def points(millions: int) -> bytes:
    """A PNG that claims so many million points and holds none: it must be judged before it is unpacked."""
    head = struct.pack(">IIBBBBB", millions * 1000, 1000, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(b"")), (b"IEND", b""))
    chunks = (
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in parts
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


def located() -> bytes:
    """A photograph that says where, when and with what it was taken, and that it lies on its side."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0112], exif[0x8825] = "A camera maker", 6, {1: "N", 2: (51.0, 4.0, 0.0)}
    return picture(exif=exif)


def paper(**metadata) -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(width=100, height=100)
    writer.add_metadata({f"/{name}": value for name, value in metadata.items()})
    runs = {NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): TextStringObject("app.alert('hello')")}
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(runs)
    made = BytesIO()
    writer.write(made)
    return made.getvalue()


def locked() -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(width=100, height=100)
    writer.encrypt("secret")
    made = BytesIO()
    writer.write(made)
    return made.getvalue()


@pytest.mark.parametrize(
    ("form", "content_type", "ending"),
    [("JPEG", "image/jpeg", "jpg"), ("PNG", "image/png", "png"), ("WEBP", "image/webp", "webp")],
)
def test_a_picture_is_known_by_its_content(form, content_type, ending):
    kept = uploads.keep(picture(form))

    assert (kept.content_type, kept.name.endswith(f".{ending}")) == (content_type, True)
    assert Image.open(BytesIO(uploads.read(sha256=kept.sha256, content_type=content_type))).format == form


def test_a_photograph_stands_upright_and_says_nothing_of_its_place_or_camera():
    kept = uploads.keep(located())

    content = uploads.read(sha256=kept.sha256, content_type=kept.content_type)
    seen = Image.open(BytesIO(content))
    assert (seen.size, dict(seen.getexif()), b"camera" in content) == ((20, 40), {}, False)


def test_a_large_photograph_is_kept_as_large_as_a_paper_needs():
    kept = uploads.keep(picture(size=(4000, 3000)))

    assert max(Image.open(BytesIO(uploads.read(sha256=kept.sha256, content_type="image/jpeg"))).size) == 2400


def test_a_pdf_keeps_its_pages_and_nothing_that_runs_or_names_its_author():
    kept = uploads.keep(paper(Author="Somebody", Title="Bracken"))

    assert b"/JavaScript" in paper()
    content = uploads.read(sha256=kept.sha256, content_type="application/pdf")
    reader = PdfReader(BytesIO(content))
    assert (len(reader.pages), "Somebody" in str(reader.metadata), b"/JavaScript" in content) == (1, False, False)


def test_the_same_file_is_kept_once(media):
    first, again = uploads.keep(picture()), uploads.keep(picture())

    assert first == again
    assert len(list(media.rglob("*.jpg"))) == 1


@pytest.mark.parametrize(
    ("content", "refusal", "sentence"),
    [
        (b"", uploads.FileUnknown, "neither a photograph"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", uploads.FileUnknown, "Photograph the paper instead"),
        (b"<!doctype html><script>alert(1)</script>", uploads.FileUnknown, "Nothing was kept"),
        (picture("GIF"), uploads.FileUnknown, "JPEG, PNG, WebP"),
        (b"%PDF-1.7 and nothing else", uploads.FileBroken, "cannot be read"),
        (locked(), uploads.FileBroken, "broken or locked"),
        (picture()[:200], uploads.FileBroken, "Photograph the paper"),
        (b"\xff" * (uploads.MOST_BYTES + 1), uploads.FileTooLarge, "more than 12 MB"),
        (points(200), uploads.TooManyPixels, "more than 60 million points"),
        (points(61), uploads.TooManyPixels, "Photograph it smaller"),
    ],
    ids=[
        "empty",
        "svg",
        "html",
        "gif",
        "not a pdf",
        "locked pdf",
        "half a picture",
        "too large",
        "200 megapixels",
        "61 megapixels",
    ],  # fmt: skip
)
def test_anything_else_is_refused_by_name_and_leaves_nothing(media, content, refusal, sentence):
    with pytest.raises(refusal, match=sentence):
        uploads.keep(content)

    assert list(media.rglob("*.*")) == []


@pytest.mark.parametrize(
    "content", [paper(), b"MZ\x90\x00 a program", b"#!/bin/sh\n"], ids=["pdf", "program", "script"]
)
def test_where_only_a_photo_will_do_nothing_else_does(media, content):
    with pytest.raises(uploads.NoPicture, match="This is no photograph"):
        uploads.keep(content, pictures_only=True)

    assert list(media.rglob("*.*")) == []


def test_a_file_that_was_changed_on_the_disk_is_not_served(media):
    kept = uploads.keep(picture())
    next(media.rglob("*.jpg")).write_bytes(b"something else")

    assert uploads.read(sha256=kept.sha256, content_type=kept.content_type) is None
    assert uploads.read(sha256="0" * 64, content_type="image/jpeg") is None
