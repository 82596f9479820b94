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
    back = _went_back(from_on, to_on)
    return tuple(
        DonorChoice(
            id=row.id,
            name=row.name,
            address=row.address,
            gifts=row.count - back.get(row.id, (0, 0))[0],
            given_minor=row.given - back.get(row.id, (0, 0))[1],
        )
        for row in donors.order_by("name", "id")
    )


def _went_back(from_on: date, to_on: date) -> dict[int, tuple[int, int]]:
    """Return by donor how many gifts of these days went back whole in them, and what went back in all (E3)."""
    gifts = Gift.objects.filter(donor__isnull=False, received_on__range=(from_on, to_on))
    returned = Sum("returns__amount_minor", filter=Q(returns__entry__on__range=(from_on, to_on)))
    found: dict[int, tuple[int, int]] = {}
    rows = gifts.annotate(back=returned).filter(back__gt=0).values_list("donor", "amount_minor", "back")
    for donor, amount, back in rows:
        whole, total = found.get(donor, (0, 0))
        found[donor] = (whole + (back == amount), total + back)
    return found


def donor_choice(*, donor_id: int, from_on: date, to_on: date) -> DonorChoice | None:
    return next((row for row in donor_choices(from_on=from_on, to_on=to_on) if row.id == donor_id), None)
