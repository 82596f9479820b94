"""How far the books reach: the moment of their first entry, and how much they hold."""

from dataclasses import dataclass
from datetime import datetime

from ledger.models import Charge, Entry, Gift


@dataclass(frozen=True, kw_only=True)
class Count:
    entries: int
    gifts: int
    charges: int


def began_at() -> datetime | None:
    """Return when the first entry was recorded, or None while there is none."""
    return Entry.objects.order_by("id").values_list("recorded_at", flat=True).first()


def count() -> Count:
    """Count what the books hold."""
    return Count(entries=Entry.objects.count(), gifts=Gift.objects.count(), charges=Charge.objects.count())
