"""The head of every paper and who signs letters; what was issued stays as it is."""

import io
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from clinic.actions import issue_partner_statement
from clinic.models import House
from clinic.queries.partner_statement import partner_statement
from clinic.queries.stationery import stationery_of
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


def wavy() -> SimpleUploadedFile:
    return SimpleUploadedFile("signature.png", picture().read(), "image/png")


def statement(clinic) -> PdfReader:
    days = {"from_on": date(2026, 10, 1), "to_on": date(2026, 10, 31), "issued_on": make.TODAY}
    now = stationery_of(House.objects.get())
    said = partner_statement(partner=clinic.partner, stationery=now, signer="Greta Lindqvist", **days)
    return PdfReader(io.BytesIO(issue_partner_statement.drawn(said)))


def signed(clinic) -> tuple[str, int]:
    page = statement(clinic).pages[0]
    return " ".join(page.extract_text().split()), len(page.images)


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


def test_who_signs_letters_stands_under_them_with_the_picture_of_the_signature(client, clinic):
    """The picture's alternative text names the person; without anybody named, who issues it signs in letters."""
    client.force_login(clinic.manager, BACKEND)
    by_issuer = signed(clinic)
    said = {"signs_name": "Amos Yelland", "signs_title": "practice manager"}

    assert change(client, **said, signature=wavy()).status_code == 303
    with_picture, page = signed(clinic), client.get(reverse("clinic:letterhead")).content.decode()
    assert change(client, **said, without_signature="on").status_code == 303
    without = signed(clinic)

    holder = "for Larkweir Animal Fund"
    assert f"Greta Lindqvist, {holder}" in by_issuer[0]
    assert f"Amos Yelland, practice manager, {holder}" in with_picture[0]
    assert [found[1] for found in (by_issuer, with_picture, without)] == [0, 1, 0]
    assert 'alt="Signature of Amos Yelland"' in page
    assert "Greta" not in with_picture[0] + without[0]


def test_a_signature_is_somebodys_and_stays_theirs(client, clinic):
    client.force_login(clinic.manager, BACKEND)

    nobodys = change(client, signature=wavy())
    change(client, signs_name="Amos Yelland", signature=wavy())
    anothers = change(client, signs_name="Noor Halvorsen")

    assert (nobodys.status_code, anothers.status_code) == (422, 422)
    assert "Write whose signature this is." in str(nobodys.context["form"].errors["signs_name"])
    assert "The signature on file is that of Amos Yelland" in str(anothers.context["form"].errors["signs_name"])
    assert House.objects.get().signs_name == "Amos Yelland"


@pytest.mark.parametrize("field", ["logo", "signature"])
@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("logo.svg", SVG, "no photograph"),
        ("logo.png", SVG, "no photograph"),
        ("logo.png", b"\x89PNG\r\n\x1a\n broken", "cannot be read"),
    ],
)
def test_a_drawing_that_holds_instructions_is_refused_at_its_field(client, clinic, field, name, content, sentence):
    client.force_login(clinic.manager, BACKEND)

    said = {"name": "Another name", "signs_name": "Amos Yelland", field: SimpleUploadedFile(name, content)}
    answer = change(client, **said)

    assert answer.status_code == 422
    assert sentence in str(answer.context["form"].errors[field])
    house = House.objects.get()
    assert (house.name, house.logo_sha256, house.signature_sha256, home.logo()) == (SAID["name"], "", "", "")
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
