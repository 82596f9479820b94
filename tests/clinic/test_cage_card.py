"""The card at a cage: one small leaf, and a code that opens the animal's row of today."""

import uuid
from io import BytesIO

import pytest
import segno
from django.urls import reverse
from pypdf import PdfReader

from clinic.actions import groups, photos, stays
from clinic.models import House
from config import qr, uploads
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.test_uploads import picture

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic(settings, tmp_path, client):
    settings.AS_OF, settings.MEDIA_ROOT = str(TODAY), tmp_path
    clinic = make.open_clinic()
    client.force_login(clinic.nurse, "django.contrib.auth.backends.ModelBackend")
    return clinic


def printed(client, animal) -> PdfReader:
    answer = client.get(reverse("clinic:cage_card", args=[animal.pk]))
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    return PdfReader(BytesIO(answer.content))


def test_it_says_who_lies_there_and_what_must_be_seen_first(clinic, client):
    animal = clinic.admit("Bracken", partner_number="BY-112", warning="Bites", chip="999000000001498").animal
    kept = uploads.keep(picture())
    photos.add(key=uuid.uuid4(), animal=animal, file=kept, taken_on=DAY, by=clinic.nurse, today=TODAY, at=AT)

    [leaf] = printed(client, animal).pages

    words = leaf.extract_text()
    for said in ("Bracken", "First:", "Bites", "BY-112", "999000000001498", animal.number, "October 3, 2026"):
        assert said in words
    assert len(leaf.images) == 1
    assert [round(float(side) / 72, 1) for side in leaf.mediabox[2:]] == [6.0, 4.0]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_long_names_stay_on_one_leaf(clinic, client, paper):
    House.objects.update(paper=paper)
    said = {"warning": "W" * 40 + " bites " * 8, "about": "about " * 15, "partner_number": "N" * 40}
    animal = clinic.admit("Wilhelmina Anastasia of the Upper Larkweir Mill Pond, the Second", **said).animal

    assert len(printed(client, animal).pages) == 1


def test_the_code_is_that_of_its_standard_module_by_module():
    """ISO/IEC 18004 through another drawing: the strokes painted back are the library's own matrix."""
    text = "http://192.168.1.20:8000/animals/7/row/"
    drawn = qr.code(text)

    painted = [[0] * drawn.size for _ in range(drawn.size)]
    for stroke in drawn.path.split("M")[1:]:
        across, rest = stroke.split(" ")
        down, length = rest.split(".5h")
        for at in range(int(across), int(across) + int(length)):
            painted[int(down)][at] = 1

    expected = segno.make(text, error="m", micro=False, boost_error=False).matrix_iter(border=qr.QUIET)
    assert painted == [[int(bool(module)) for module in row] for row in expected]


def test_the_code_leads_to_the_row_of_today_open(clinic, client):
    animal = clinic.admit("Bracken").animal

    answer = client.get(reverse("clinic:cage_card_row", args=[animal.pk]))

    assert answer["Location"] == f"/ward/2026-10-14/?open={animal.pk}#animal-{animal.pk}"


def test_in_a_group_it_leads_to_the_row_that_stands_for_all(clinic, client):
    ash, birch = clinic.admit("Ash").animal, clinic.admit("Birch").animal
    groups.form(key=uuid.uuid4(), name="Pair", members=[ash, birch], by=clinic.nurse, today=DAY, at=AT)

    answer = client.get(reverse("clinic:cage_card_row", args=[birch.pk]))

    assert answer["Location"].endswith(f"?open={ash.pk}#animal-{ash.pk}")
    assert "With" in printed(client, birch).pages[0].extract_text()


def test_of_an_animal_that_left_it_leads_to_its_page(clinic, client):
    stay = clinic.admit("Bracken")
    stays.discharge(
        stay=stay, discharged_on=TODAY, left_to="adopted", why="", by=clinic.nurse, today=TODAY, at=AT
    )  # fmt: skip

    answer = client.get(reverse("clinic:cage_card_row", args=[stay.animal_id]))

    assert answer["Location"] == reverse("clinic:animal", args=[stay.animal_id])
