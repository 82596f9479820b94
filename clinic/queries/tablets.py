"""Which tablets stand in the ward, which were closed, and which one a device says it is."""

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from clinic.models import ShortCode, Tablet, User


@dataclass(frozen=True)
class TabletRow:
    id: int
    words: str
    enrolled_at: datetime
    enrolled_by: str
    revoked_at: datetime | None
    revoked_by: str


@dataclass(frozen=True)
class Tablets:
    standing: tuple[TabletRow, ...]
    closed: tuple[TabletRow, ...]


def tablets() -> Tablets:
    found = [
        TabletRow(
            id=tablet.pk,
            words=tablet.words,
            enrolled_at=tablet.enrolled_at,
            enrolled_by=tablet.enrolled_by.name,
            revoked_at=tablet.revoked_at,
            revoked_by=tablet.revoked_by.name if tablet.revoked_by else "",
        )
        for tablet in Tablet.objects.select_related("enrolled_by", "revoked_by").order_by("words", "pk")
    ]
    return Tablets(
        standing=tuple(row for row in found if row.revoked_at is None),
        closed=tuple(row for row in found if row.revoked_at is not None),
    )


def standing(*, secret: str) -> Tablet | None:
    """Return the tablet that holds this secret, or None when none stands that does."""
    digest = sha256(secret.encode()).hexdigest()
    return Tablet.objects.filter(secret_sha256=digest, revoked_at__isnull=True).first()


def name_of(*, tablet_id: int) -> str:
    """Return the name of a tablet, empty when it stands no longer."""
    found = Tablet.objects.filter(pk=tablet_id, revoked_at__isnull=True)
    return found.values_list("words", flat=True).first() or ""


def code_since(*, person: User) -> datetime | None:
    return ShortCode.objects.filter(user=person).values_list("set_at", flat=True).first()
