"""An animal's photos: all of them for the ward, and the one that a paper may print."""

import base64
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from io import BytesIO

from PIL import Image

from clinic.models import Animal, Photo, PhotoConsent
from config import uploads

LONGEST_ON_PAPER = 900  # pixels: three inches at 300 to the inch


@dataclass(frozen=True)
class ConsentLine:
    id: int
    uses: str
    owner_said: str
    people: str  # empty: nobody is to be seen in it
    from_on: date
    until_on: date | None
    withdrawn_on: date | None
    holds: bool


@dataclass(frozen=True)
class PhotoLine:
    id: int
    words: str
    taken_on: date
    added_by: str
    consents: tuple[ConsentLine, ...]

    @property
    def is_clinical(self) -> bool:
        return not any(consent.holds for consent in self.consents)


@dataclass(frozen=True)
class PaperPhoto:
    """A photo that may be printed: `src` holds the picture itself, the same on screen and on paper."""

    photo_id: int
    sha256: str
    src: str
    words: str  # what is to be seen, for those who do not see it
    taken_on: date


def photos_of(*, animal: Animal, on: date) -> tuple[PhotoLine, ...]:
    """Return an animal's photos, the newest first."""
    found = Photo.objects.filter(animal=animal, taken_back_at=None).select_related("added_by")
    found = found.prefetch_related("consents").order_by("-taken_on", "-pk")
    return tuple(
        PhotoLine(
            id=photo.pk,
            words=photo.words,
            taken_on=photo.taken_on,
            added_by=photo.added_by.initials,
            consents=tuple(_consent(row, on) for row in sorted(photo.consents.all(), key=lambda row: row.pk)),
        )
        for photo in found
    )


def photo_for(*, animal: Animal, use: str, on: date) -> PaperPhoto | None:
    """Return the newest photo that `use` ("statement", "appeal") was agreed to on a day, or None (I5)."""
    for photo in (
        Photo.objects.filter(animal=animal, taken_back_at=None, taken_on__lte=on, consents__isnull=False)
        .distinct()
        .prefetch_related("consents")
        .order_by("-taken_on", "-pk")
    ):
        if any(consent.holds_for(use, on) for consent in photo.consents.all()):
            content = uploads.read(sha256=photo.sha256, content_type=photo.content_type)
            if content is not None:
                return _printed(photo, animal, content)
    return None


def photos_for(*, animals: Iterable[Animal], use: str, on: date) -> dict[str, PaperPhoto]:
    """Return by animal's key the photo that `use` was agreed to, of those animals that have one."""
    wanted = {animal.pk: animal for animal in animals}
    asked = Photo.objects.filter(animal__in=list(wanted), taken_back_at=None, consents__isnull=False)
    found = (wanted[pk] for pk in set(asked.values_list("animal", flat=True)))
    photos = ((animal.key, photo_for(animal=animal, use=use, on=on)) for animal in found)
    return {key: photo for key, photo in photos if photo is not None}


def are_withdrawn(*, photo_ids: Iterable[int]) -> bool:
    """Say whether of any of these photos every consent was taken back: then nobody is handed a paper with it (I5)."""
    ids = set(photo_ids)
    held = PhotoConsent.objects.filter(photo__in=ids, withdrawn_on=None).values_list("photo", flat=True)
    return bool(ids - set(held))


def newest(*, animal: Animal) -> PaperPhoto | None:
    """Return the newest photo, clinical or not: for what hangs in the ward and goes to nobody outside."""
    photo = Photo.objects.filter(animal=animal, taken_back_at=None).order_by("-taken_on", "-pk").first()
    content = uploads.read(sha256=photo.sha256, content_type=photo.content_type) if photo else None
    return _printed(photo, animal, content) if photo and content else None


def _printed(photo: Photo, animal: Animal, content: bytes) -> PaperPhoto:
    small = base64.b64encode(_small(content)).decode()
    return PaperPhoto(
        photo_id=photo.pk,
        sha256=photo.sha256,
        src=f"data:image/jpeg;base64,{small}",
        words=photo.words or f"{animal.name or animal.number}, a {animal.species}",
        taken_on=photo.taken_on,
    )


def _small(content: bytes) -> bytes:
    """Return a photo as large as a paper needs it: a leaf with twenty of them stays light enough to mail."""
    with Image.open(BytesIO(content)) as opened:
        picture = opened.convert("RGB")
    picture.thumbnail((LONGEST_ON_PAPER, LONGEST_ON_PAPER))
    written = BytesIO()
    picture.save(written, format="JPEG", quality=85)
    return written.getvalue()


def _consent(row: PhotoConsent, on: date) -> ConsentLine:
    labels = dict(PhotoConsent.Use.choices)
    return ConsentLine(
        id=row.pk,
        uses=" and ".join(labels[use] for use in row.uses),
        owner_said=row.owner_said,
        people=row.people,
        from_on=row.from_on,
        until_on=row.until_on,
        withdrawn_on=row.withdrawn_on,
        holds=any(row.holds_for(use, on) for use in row.uses),
    )
