"""The keys of donors: by them a list beside the backups names whom it cannot name."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from ledger.models import Donor


def keys(*, ids: Iterable[int]) -> tuple[str, ...]:
    rows = Donor.objects.filter(id__in=list(ids), erased_on=None).order_by("id")
    return tuple(str(key) for key in rows.values_list("key", flat=True))


def still_named(*, key: str) -> int | None:
    """Return the donor of a key whose identity stands, or None."""
    return Donor.objects.filter(key=UUID(key), erased_on=None).values_list("id", flat=True).first()
