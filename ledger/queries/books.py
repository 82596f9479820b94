"""How far the books reach: their first entry's moment, and their last entry."""

from datetime import datetime

from ledger.models import Entry


def began_at() -> datetime | None:
    """Return when the first entry was recorded, or None while there is none."""
    return Entry.objects.order_by("id").values_list("recorded_at", flat=True).first()
