"""I5: a photo is clinical until somebody records who agreed, for what, until when; consent withdrawn ends it."""

import uuid
from datetime import timedelta
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from clinic.actions import photos
from clinic.models import Photo, PhotoConsent
from clinic.queries.photos import photo_for, photos_of
from config import uploads
from config.refusal import Refusal
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.test_uploads import located, picture, points

pytestmark = pytest.mark.django_db

BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def clinic(settings, tmp_path):
    settings.MEDIA_ROOT, settings.AS_OF = tmp_path, str(TODAY)
    return make.open_clinic()


@pytest.fixture
def animal(clinic):
    return clinic.admit().animal


def add(clinic, animal, *, on=DAY, content: bytes | None = None) -> Photo:
    kept = uploads.keep(content or picture())
    return photos.add(key=uuid.uuid4(), animal=animal, file=kept, taken_on=on, by=clinic.nurse, today=TODAY, at=AT)


def agree(clinic, photo, uses=("statement",), **more) -> PhotoConsent:
    said = {"owner_said": "Bea Larkin", "people": "", "nobody_in_it": True, "from_on": DAY, "until_on": None} | more
    return photos.consent(
        key=uuid.uuid4(), photo=photo, uses=list(uses), **said, by=clinic.vet, today=TODAY, at=AT
    )  # fmt: skip


def shown(animal, use: str, on) -> int | None:
    found = photo_for(animal=animal, use=use, on=on)
    return found and found.photo_id


def test_a_photo_is_clinical_until_somebody_agreed_to_its_use(clinic, animal):
    photo = add(clinic, animal)
    assert (shown(animal, "statement", TODAY), photos_of(animal=animal, on=TODAY)[0].is_clinical) == (None, True)

    agree(clinic, photo)

    assert (shown(animal, "statement", TODAY), shown(animal, "appeal", TODAY)) == (photo.pk, None)
    assert shown(animal, "statement", DAY - timedelta(days=1)) is None
    assert photos_of(animal=animal, on=TODAY)[0].is_clinical is False


def test_a_consent_ends_with_its_last_day_and_when_it_is_withdrawn(clinic, animal):
    photo = add(clinic, animal)
    consent = agree(clinic, photo, uses=("statement", "appeal"), until_on=DAY + timedelta(days=30))

    assert shown(animal, "appeal", DAY + timedelta(days=30)) == photo.pk
    assert shown(animal, "appeal", DAY + timedelta(days=31)) is None
    photos.withdraw(consent=consent, on=TODAY, why="Bea Larkin, by telephone", by=clinic.manager, at=AT)
    assert (shown(animal, "appeal", DAY), shown(animal, "appeal", TODAY)) == (photo.pk, None)
    with pytest.raises(photos.WithdrawnAlready, match="was withdrawn on October 14, 2026"):
        photos.withdraw(consent=consent, on=DAY, why="again", by=clinic.manager, at=AT)


def test_the_newest_photo_that_may_be_shown_is_the_one(clinic, animal):
    older, newer = add(clinic, animal, on=DAY), add(clinic, animal, on=TODAY, content=picture(size=(30, 30)))
    agree(clinic, older)
    assert shown(animal, "statement", TODAY) == older.pk

    agree(clinic, newer)
    assert shown(animal, "statement", TODAY) == newer.pk

    photos.take_back(photo=newer, by=clinic.nurse, at=AT)
    assert shown(animal, "statement", TODAY) == older.pk


def test_the_printed_picture_is_the_kept_one_without_its_metadata(clinic, animal):
    agree(clinic, add(clinic, animal, content=located()))

    found = photo_for(animal=animal, use="statement", on=TODAY)

    assert found.src.startswith("data:image/jpeg;base64,")
    assert found.words == "Bracken, a dog"
    kept = uploads.read(sha256=found.sha256, content_type="image/jpeg")
    assert dict(Image.open(BytesIO(kept)).getexif()) == {}


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({"uses": ()}, "Say what was agreed to"),
        ({"nobody_in_it": False}, "Say who is to be seen in it"),
        ({"people": "Bea Larkin"}, "or that nobody is"),
        ({"from_on": TODAY + timedelta(days=1)}, "has not come yet"),
        ({"until_on": DAY - timedelta(days=1)}, "end before it begins"),
    ],
)
def test_a_consent_that_does_not_say_who_for_what_and_when_is_refused(clinic, animal, said, says):
    photo = add(clinic, animal)

    with pytest.raises(Refusal, match=says):
        agree(clinic, photo, **said)

    assert PhotoConsent.objects.count() == 0


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"MZ\x90\x00 a program", "This is no photograph"),
        (points(200), "more than 60 million points"),
        (b"\xff\xd8\xff" + b"\0" * 30_000_000, "more than 12 MB"),
    ],
    ids=["a program", "200 megapixels", "30 MB"],
)
def test_what_is_no_photo_is_refused_at_the_field_and_nothing_typed_is_lost(clinic, animal, client, content, says):
    client.force_login(clinic.nurse, BACKEND)
    upload = SimpleUploadedFile("bracken.jpg", content, content_type="image/jpeg")
    said = {"key": uuid.uuid4(), "photo": upload, "words": "his first walk", "taken_on": str(DAY)}

    answer = client.post(reverse("clinic:photos", args=[animal.pk]), said)

    page = answer.content.decode()
    assert (answer.status_code, Photo.objects.count()) == (422, 0)
    assert says in page
    assert 'id="id_photo_error"' in page
    assert "his first walk" in page


def test_the_picture_is_served_behind_the_gate_and_no_longer_once_taken_back(clinic, animal, client):
    photo = add(clinic, animal)
    address = reverse("clinic:photo_file", args=[photo.pk])

    assert client.get(address).status_code == 302
    client.force_login(clinic.contact, BACKEND)
    assert client.get(address).status_code == 404
    client.force_login(clinic.nurse, BACKEND)
    answer = client.get(address)
    assert (answer.status_code, answer["Content-Type"], answer["X-Content-Type-Options"]) == (
        200,
        "image/jpeg",
        "nosniff",
    )
    client.post(reverse("clinic:photo_take_back", args=[photo.pk]))
    assert client.get(address).status_code == 404


def test_from_the_photo_to_the_consent_on_the_pages(clinic, animal, client):
    client.force_login(clinic.vet, BACKEND)
    upload = SimpleUploadedFile("bracken.png", picture("PNG"), content_type="image/png")
    said = {"key": uuid.uuid4(), "photo": upload, "words": "his first walk", "taken_on": str(DAY)}
    assert client.post(reverse("clinic:photos", args=[animal.pk]), said).status_code == 303
    photo = Photo.objects.get()

    said = {"key": uuid.uuid4(), "uses": ["statement"], "owner_said": "Bea Larkin", "from_on": str(DAY)}
    address = reverse("clinic:photo_consent", args=[photo.pk])
    assert "Say who is to be seen in it" in client.post(address, said).content.decode()
    assert client.post(address, said | {"nobody_in_it": "on"}).status_code == 303
    page = client.get(reverse("clinic:photos", args=[animal.pk])).content.decode()
    assert "no person in it" in page
    assert "Clinical: not for papers" not in page
