"""Who made the payments of a period, so that one hand that recorded, signed and paid is seen (H3)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, Sum

from ledger.models import Entry, Posting
from ledger.models.accounts import BANK

PAYMENTS = (Entry.Kind.PAID, Entry.Kind.BILL_PAID)


@dataclass(frozen=True, kw_only=True)
class Payments:
    entries: int
    amount_minor: int


def payments(*, from_on: date, to_on: date, as_of: int) -> dict[int, Payments]:
    """Return what each person paid to the practice or for a bill, by the person's id."""
    rows = (
        Posting.objects.filter(
            entry__kind__in=PAYMENTS, entry__on__range=(from_on, to_on), entry__lte=as_of, credit=BANK
        )
        .values(person=F("entry__by"))
        .annotate(entries=Count("entry", distinct=True), minor=Sum("amount_minor"))
    )
    return {row["person"]: Payments(entries=row["entries"], amount_minor=row["minor"]) for row in rows}
