"""The donors by name, each with what was given in a period: the list from which their papers are made."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, Q, Sum

from ledger.models import Donor, Gift, Inflow, Use


@dataclass(frozen=True, kw_only=True)
class DonorChoice:
    id: int
    name: str
    address: str
    gifts: int
    given_minor: int


def donor_choices(*, from_on: date, to_on: date, donor_id: int | None = None) -> tuple[DonorChoice, ...]:
    """Return every donor with what they gave in these days, or one alone."""
    now = Q(gifts__received_on__range=(from_on, to_on)) & ~Q(gifts__way__in=(Gift.Way.GOODS, Gift.Way.OPENING))
    donors = Donor.objects.annotate(
        count=Count("gifts", filter=now), given=Sum("gifts__amount_minor", filter=now, default=0)
    )
    if donor_id is not None:
        donors = donors.filter(id=donor_id)
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
    return next(iter(donor_choices(from_on=from_on, to_on=to_on, donor_id=donor_id)), None)


def names(*, ids: Iterable[int]) -> dict[int, str]:
    """Return the names of some donors by id."""
    return dict(Donor.objects.filter(id__in=list(ids)).values_list("id", "name"))


def with_money(*, from_on: date, to_on: date) -> tuple[int, ...]:
    """Return the donors with a gift of money in these days, or with one that still waited or was at work in them."""
    by_then = Inflow.objects.filter(gift__donor__isnull=False, entry__on__lte=to_on).exclude(gift__way=Gift.Way.GOODS)
    new = set(by_then.filter(entry__on__gte=from_on).values_list("gift__donor", flat=True))
    used = Sum("uses__amount_minor", filter=Q(uses__entry__on__lt=from_on), default=0)
    earlier = by_then.filter(entry__on__lt=from_on).annotate(used=used).exclude(used=F("amount_minor"))
    at_work = Use.objects.filter(inflow__in=by_then, entry__on__gte=from_on, entry__on__lte=to_on)
    found = new | set(earlier.values_list("gift__donor", flat=True))
    return tuple(sorted(found | set(at_work.values_list("inflow__gift__donor", flat=True))))
