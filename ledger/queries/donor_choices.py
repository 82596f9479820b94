"""The donors by name, each with what was given in a period: the list from which their papers are made."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q, Sum

from ledger.models import Donor, Gift


@dataclass(frozen=True, kw_only=True)
class DonorChoice:
    id: int
    name: str
    address: str
    gifts: int
    given_minor: int


def donor_choices(*, from_on: date, to_on: date) -> tuple[DonorChoice, ...]:
    now = Q(gifts__received_on__range=(from_on, to_on)) & ~Q(gifts__way=Gift.Way.GOODS)
    donors = Donor.objects.annotate(
        count=Count("gifts", filter=now), given=Sum("gifts__amount_minor", filter=now, default=0)
    )
    return tuple(
        DonorChoice(id=row.id, name=row.name, address=row.address, gifts=row.count, given_minor=row.given)
        for row in donors.order_by("name", "id")
    )


def donor_choice(*, donor_id: int, from_on: date, to_on: date) -> DonorChoice | None:
    return next((row for row in donor_choices(from_on=from_on, to_on=to_on) if row.id == donor_id), None)
