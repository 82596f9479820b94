"""Photos: added at the animal, clinical until somebody records who agreed to what (I5), taken back, consent withdrawn.

Refusal
└── PhotoRefused
    ├── TakenAhead        a photo of a day that has not come yet
    ├── NothingAgreed     a consent for no use
    ├── ConsentAhead      agreed on a day that has not come yet
    ├── EndsBefore        a consent that ends before it begins
    ├── PeopleUnclear     neither who is in the photo, nor that nobody is
    └── WithdrawnAlready  the consent was withdrawn before
"""

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import history
from clinic.models import Animal, Photo, PhotoConsent, User
from config.days import day_year
from config.refusal import Refusal
from config.uploads import KeptFile


class PhotoRefused(Refusal):
    """Nothing was kept."""


class TakenAhead(PhotoRefused):
    field = "taken_on"

    def __init__(self) -> None:
        super().__init__("That day has not come yet. Nothing was kept. Give the day on which the photo was taken.")


class NothingAgreed(PhotoRefused):
    field = "uses"

    def __init__(self) -> None:
        super().__init__("Say what was agreed to. Nothing was recorded; without it the photo stays clinical.")


class ConsentAhead(PhotoRefused):
    field = "from_on"

    def __init__(self) -> None:
        super().__init__("That day has not come yet. Nothing was recorded. Give the day on which it was said.")


class EndsBefore(PhotoRefused):
    field = "until_on"

    def __init__(self) -> None:
        super().__init__("It would end before it begins. Nothing was recorded. Correct one of the two dates.")


class PeopleUnclear(PhotoRefused):
    field = "people"

    def __init__(self) -> None:
        super().__init__(
            "Say who is to be seen in it, each of whom agreed, or that nobody is. Nothing was recorded; "
            "without it the photo stays clinical."
        )


class WithdrawnAlready(PhotoRefused):
    def __init__(self, on: date) -> None:
        super().__init__(f"This consent was withdrawn on {day_year(on)}. Nothing was changed.")


@transaction.atomic
def add(
    *, key: UUID, animal: Animal, file: KeptFile, taken_on: date, by: User, today: date, at: datetime, words: str = ""
) -> Photo:
    """Keep a photo of an animal; the same form sent twice is one photo.

    :raises TakenAhead: when its day has not come yet.
    """
    if known := Photo.objects.filter(key=key).first():
        return known
    if taken_on > today:
        raise TakenAhead
    photo = Photo.objects.create(
        key=key,
        animal=animal,
        sha256=file.sha256,
        content_type=file.content_type,
        taken_on=taken_on,
        words=words.strip(),
        added_by=by,
        added_at=at,
    )
    _told(photo, by=by, at=at, after={"taken_on": str(taken_on)})
    return photo


@transaction.atomic
def take_back(*, photo: Photo, by: User, at: datetime) -> Photo:
    """Show a photo no longer; what is issued with it stands."""
    photo = Photo.objects.select_for_update(of=("self",)).select_related("animal").get(pk=photo.pk)
    if photo.taken_back_at is None:
        photo.taken_back_at = at
        photo.save(update_fields=["taken_back_at"])
        _told(photo, by=by, at=at, after={"taken back": True})
    return photo


@transaction.atomic
def consent(
    *,
    key: UUID,
    photo: Photo,
    uses: Sequence[str],
    owner_said: str,
    people: str,
    nobody_in_it: bool,
    from_on: date,
    until_on: date | None,
    by: User,
    today: date,
    at: datetime,
) -> PhotoConsent:
    """Record who agreed to what is done with a photo: the owner, and everybody who is to be seen in it.

    :raises PhotoRefused: when it names no use, no end that can be, a day ahead, or not who is in the photo.
    """
    if known := PhotoConsent.objects.filter(key=key).first():
        return known
    if not uses:
        raise NothingAgreed
    if from_on > today:
        raise ConsentAhead
    if until_on is not None and until_on < from_on:
        raise EndsBefore
    if bool(people.strip()) == nobody_in_it:
        raise PeopleUnclear
    made = PhotoConsent.objects.create(
        key=key,
        photo=photo,
        uses=sorted(uses),
        owner_said=owner_said.strip(),
        people=people.strip(),
        from_on=from_on,
        until_on=until_on,
        by=by,
        at=at,
    )
    _told(photo, by=by, at=at, after={"consent": made.pk, "uses": made.uses, "owner": made.owner_said})
    return made


@transaction.atomic
def withdraw(*, consent: PhotoConsent, on: date, why: str, by: User, at: datetime) -> PhotoConsent:
    """End a consent from a day on; papers issued before keep the file and are no longer served.

    :raises WithdrawnAlready: when it was withdrawn before.
    """
    kept = PhotoConsent.objects.select_for_update(of=("self",)).select_related("photo__animal").get(pk=consent.pk)
    if kept.withdrawn_on is not None:
        if (kept.withdrawn_on, kept.withdrawn_why) == (on, why):
            return kept
        raise WithdrawnAlready(kept.withdrawn_on)
    kept.withdrawn_on, kept.withdrawn_why, kept.withdrawn_by = on, why, by
    kept.save(update_fields=["withdrawn_on", "withdrawn_why", "withdrawn_by"])
    _told(kept.photo, by=by, at=at, after={"consent": kept.pk, "withdrawn_on": str(on)}, why=why)
    return kept


def _told(photo: Photo, *, by: User, at: datetime, after: dict[str, object], why: str = "") -> None:
    history.note(animal=photo.animal, what="photo", what_id=photo.pk, by=by, at=at, after=after, why=why)
