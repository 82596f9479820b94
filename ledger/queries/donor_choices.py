"""The donors by name, each with what was given in a period: the list from which their papers are made."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from ledger.models import Donor, Gift, Inflow, Use
from ledger.queries import one_donor


@dataclass(frozen=True, kw_only=True)
class DonorChoice:
    id: int
    name: str
    address: str
    wants: str
    is_erased: bool
    gifts: int
    given_minor: int


def donor_choices(*, from_on: date, to_on: date, donor_id: int | None = None) -> tuple[DonorChoice, ...]:
    """Return every donor with what they gave in these days, or one alone, under whatever id they are asked for."""
    gifts = Gift.objects.filter(donor__isnull=False, received_on__range=(from_on, to_on))
    gifts = gifts.exclude(way__in=(Gift.Way.GOODS, Gift.Way.OPENING))
    donors = Donor.objects.filter(same_as=None)
    if donor_id is not None:
        ids = one_donor.whole(donor_id=donor_id)
        gifts, donors = gifts.filter(donor__in=ids), donors.filter(id__in=ids)
    summed = gifts.values_list(one_donor.standing()).annotate(Count("id"), Sum("amount_minor"))
    given = {number: (count, minor) for number, count, minor in summed}
    back = _went_back(gifts, from_on, to_on)
    return tuple(
        DonorChoice(
            id=row.id,
            name=row.name,
            address=row.address,
            wants=row.wants,
            is_erased=row.erased_on is not None,
            gifts=given.get(row.id, (0, 0))[0] - back.get(row.id, (0, 0))[0],
            given_minor=given.get(row.id, (0, 0))[1] - back.get(row.id, (0, 0))[1],
        )
        for row in donors.order_by("name", "id")
    )


def _went_back(gifts: QuerySet[Gift], from_on: date, to_on: date) -> dict[int, tuple[int, int]]:
    """Return by donor how many of the gifts went back whole in these days, and what went back in all (E3)."""
    returned = Sum("returns__amount_minor", filter=Q(returns__entry__on__range=(from_on, to_on)))
    found: dict[int, tuple[int, int]] = {}
    rows = gifts.annotate(back=returned, one=one_donor.standing()).filter(back__gt=0)
    for donor, amount, back in rows.values_list("one", "amount_minor", "back"):
        whole, total = found.get(donor, (0, 0))
        found[donor] = (whole + (back == amount), total + back)
    return found


def donor_choice(*, donor_id: int, from_on: date, to_on: date) -> DonorChoice | None:
    return next(iter(donor_choices(from_on=from_on, to_on=to_on, donor_id=donor_id)), None)


def names(*, ids: Iterable[int]) -> dict[int, str]:
    """Return by id the names of some donors, of one that was merged the name under which they are read."""
    return dict(Donor.objects.filter(id__in=list(ids)).values_list("id", Coalesce("same_as__name", "name")))


def with_money(*, from_on: date, to_on: date) -> tuple[int, ...]:
    """Return the donors with a gift of money in these days, or with one that still waited or was at work in them."""
    by_then = Inflow.objects.filter(gift__donor__isnull=False, entry__on__lte=to_on).exclude(gift__way=Gift.Way.GOODS)
    by_then = by_then.annotate(one=one_donor.standing("gift__donor"))
    new = set(by_then.filter(entry__on__gte=from_on).values_list("one", flat=True))
    used = Sum("uses__amount_minor", filter=Q(uses__entry__on__lt=from_on), default=0)
    earlier = by_then.filter(entry__on__lt=from_on).annotate(used=used).exclude(used=F("amount_minor"))
    at_work = Use.objects.filter(inflow__in=by_then.values("id"), entry__on__gte=from_on, entry__on__lte=to_on)
    found = new | set(earlier.values_list("one", flat=True))
    return tuple(sorted(found | set(at_work.values_list(one_donor.standing("inflow__gift__donor"), flat=True))))
