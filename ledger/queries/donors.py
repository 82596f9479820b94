"""Donors with what they gave."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Max, Q, Sum

from ledger.models import Donor, Gift

MOST_AT_ONCE = 200


@dataclass(frozen=True, kw_only=True)
class DonorLine:
    donor_id: int
    kind: str
    kind_words: str
    name: str
    address: str
    email: str
    note: str
    gifts: int
    given_minor: int
    last_on: object


def donors(*, asked: str = "", most: int = MOST_AT_ONCE) -> tuple[DonorLine, ...]:
    """Return donors by name, those only whose name or address holds `asked`; at most so many."""
    rows = Donor.objects.all()
    if asked:
        rows = rows.filter(Q(name__icontains=asked) | Q(address__icontains=asked) | Q(email__icontains=asked))
    return tuple(_line(row) for row in _counted(rows.order_by("name", "id"))[:most])


def donor(*, donor_id: int) -> DonorLine | None:
    row = _counted(Donor.objects.filter(id=donor_id)).first()
    return _line(row) if row else None


def choices() -> tuple[tuple[int, str], ...]:
    """Return every donor as a choice for a form."""
    return tuple(Donor.objects.order_by("name", "id").values_list("id", "name"))


def _counted(rows):
    money = ~Q(gifts__way=Gift.Way.GOODS)
    return rows.annotate(
        gift_count=Count("gifts"),
        given=Sum("gifts__amount_minor", filter=money, default=0),
        last_on=Max("gifts__received_on"),
    )


def _line(row: Donor) -> DonorLine:
    return DonorLine(
        donor_id=row.id,
        kind=row.kind,
        kind_words=Donor.Kind(row.kind).label,
        name=row.name,
        address=row.address,
        email=row.email,
        note=row.note,
        gifts=row.gift_count,
        given_minor=row.given,
        last_on=row.last_on,
    )
