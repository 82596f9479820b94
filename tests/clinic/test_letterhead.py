"""The head of every paper: name, address, paper and logo; what was issued stays as it is."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from clinic.models import House
from config import home
from tests.clinic import make

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
SAID = {"name": "Larkweir Veterinary Practice", "address": "14 Tollgate Row", "paper": "a4"}
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


@pytest.fixture
def clinic(settings, tmp_path):
    settings.MEDIA_ROOT, settings.AS_OF = tmp_path, "2026-10-14"
    return make.open_clinic(percent=None)


def picture() -> SimpleUploadedFile:
    kept = io.BytesIO()
    Image.new("RGB", (40, 40), "navy").save(kept, "PNG")
    return SimpleUploadedFile("logo.png", kept.getvalue(), "image/png")


def change(client, **said):
    return client.post(reverse("clinic:letterhead"), {**SAID, **said})


def board(client) -> PdfReader:
    return PdfReader(io.BytesIO(client.get(reverse("clinic:board_report_pdf")).content))


def test_a_logo_stands_at_the_head_of_a_paper_until_it_is_taken_away(client, clinic):
    client.force_login(clinic.manager, BACKEND)
    before = board(client)

    assert change(client, logo=picture()).status_code == 303
    with_logo = board(client)
    assert change(client, without_logo="on").status_code == 303

    assert [len(paper.pages[0].images) for paper in (before, with_logo, board(client))] == [0, 1, 0]
    assert float(with_logo.pages[0].mediabox.width) == pytest.approx(595, abs=1)  # A4
    assert "14 Tollgate Row" in with_logo.pages[0].extract_text()


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("logo.svg", SVG, "no photograph"),
        ("logo.png", SVG, "no photograph"),
        ("logo.png", b"\x89PNG\r\n\x1a\n broken", "cannot be read"),
    ],
)
def test_a_drawing_that_holds_instructions_is_refused_at_its_field(client, clinic, name, content, sentence):
    client.force_login(clinic.manager, BACKEND)

    answer = change(client, name="Another name", logo=SimpleUploadedFile(name, content))

    assert answer.status_code == 422
    assert sentence in str(answer.context["form"].errors["logo"])
    assert (House.objects.get().name, House.objects.get().logo_sha256, home.logo()) == (SAID["name"], "", "")
    assert "Another name" in answer.content.decode()


def test_a_logo_whose_file_is_gone_leaves_the_mark(client, clinic, tmp_path):
    client.force_login(clinic.manager, BACKEND)
    change(client, logo=picture())
    for file in (tmp_path / "kept").rglob("*.png"):
        file.unlink()

    assert home.logo() == ""
    assert board(client).pages


def test_a_paper_must_say_whose_it_is(client, clinic):
    client.force_login(clinic.manager, BACKEND)

    assert change(client, name=" ").status_code == 422
    assert House.objects.get().name == SAID["name"]


def test_only_the_manager_changes_it(client, clinic):
    client.force_login(clinic.bookkeeper, BACKEND)

    assert client.get(reverse("clinic:letterhead")).status_code == 200
    assert change(client).status_code == 403
