"""Setting the shared costs of a year: judged by sharing them once, then kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from django.db import transaction
from djmoney.money import Money

from clinic.formulas import shared_costs
from clinic.models import CostBase, CostCenter, SharedYear, User
from config.refusal import Refusal
from ledger.queries import holder


class SharingRefused(Refusal):
    field = "services"


class NobodyCarries(Refusal):
    field = "boarding_days"


class YearSetAlready(Refusal):
    field = "starts_on"


@dataclass(frozen=True, kw_only=True)
class Service:
    """One service: its cost in a year, and how much of it each other center uses."""

    name: str
    cost: Decimal
    bases: tuple[tuple[str, Decimal], ...]


@transaction.atomic
def set_year(
    *,
    starts_on: date,
    services: Sequence[Service],
    ward_cost: Decimal,
    theater_cost: Decimal,
    boarding_days: int,
    theater_minutes: int,
    by: User,
    at: datetime,
) -> SharedYear:
    """Keep a year's shared costs; the services are closed in their order. Sent again it changes nothing.

    :raises YearSetAlready: when that date already has other figures.
    :raises SharingRefused: when they cannot be shared: a base of zero, a circle, somebody unknown, below zero.
    :raises NobodyCarries: when there is a cost and no boarding day, or no theater minute, to carry it.
    """
    services = _named(services)
    costs = {one.name: one.cost for one in services} | {WARD: ward_cost, THEATER: theater_cost}
    bases = {one.name: dict(one.bases) for one in services}
    said = (costs, bases, boarding_days, theater_minutes)
    known = SharedYear.objects.filter(starts_on=starts_on).first()
    if known:
        if _said(known) == said:
            return known
        raise YearSetAlready(f"The shared costs from {starts_on} are set already. Choose a later day.")
    _try(services, costs, bases, boarding_days, theater_minutes)
    year = SharedYear.objects.create(
        starts_on=starts_on, boarding_days=boarding_days, theater_minutes=theater_minutes, set_by=by, set_at=at
    )
    currency = holder.holder().currency
    kinds = {WARD: CostCenter.Kind.WARD, THEATER: CostCenter.Kind.THEATER}
    centers = {
        name: CostCenter.objects.create(
            year=year,
            kind=kinds.get(name, CostCenter.Kind.SERVICE),
            name=name,
            position=position,
            yearly_cost=Money(cost, currency),
        )
        for position, (name, cost) in enumerate(costs.items())
    }
    CostBase.objects.bulk_create(
        CostBase(service=centers[service], user=centers[user], base=base)
        for service, users in bases.items()
        for user, base in users.items()
    )
    return year


WARD, THEATER = CostCenter.Kind.WARD.label.capitalize(), CostCenter.Kind.THEATER.label.capitalize()


def _named(services: Sequence[Service]) -> list[Service]:
    """Write whoever uses a service as it is named where its own cost stands: "ward" is the Ward."""
    known = {name.casefold(): name for name in [*(one.name for one in services), WARD, THEATER]}
    for one in services:
        if one.name.casefold() in {WARD.casefold(), THEATER.casefold()}:
            raise SharingRefused(f"{one.name} shares nothing on: write its own cost below. Nothing was saved.")
    return [
        Service(
            name=known[one.name.casefold()],
            cost=one.cost,
            bases=tuple((known.get(user.casefold(), user), base) for user, base in one.bases),
        )
        for one in services
    ]


def _try(services: Sequence[Service], costs, bases, boarding_days: int, theater_minutes: int) -> None:
    for one in services:
        names = [name for name, _ in one.bases]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice:
            raise SharingRefused(f"{one.name} names {twice} twice. Write how much it uses once; nothing was saved.")
    try:
        done = shared_costs.step_down(
            costs={name: Fraction(cost) for name, cost in costs.items()},
            order=[one.name for one in services],
            bases={service: {name: Fraction(base) for name, base in users.items()} for service, users in bases.items()},
        )
    except shared_costs.SharingImpossible as why:
        raise SharingRefused(f"{why} Nothing was saved.") from None
    try:
        shared_costs.per_unit(cost=done.costs[WARD], units=boarding_days, words="the ward")
        shared_costs.per_unit(cost=done.costs[THEATER], units=theater_minutes, words="the theater")
    except shared_costs.SharingImpossible:
        raise NobodyCarries(
            "A cost is left with nothing to carry it. Write how many boarding days and theater minutes the year has; "
            "nothing was saved."
        ) from None


def _said(year: SharedYear):
    centers = list(year.centers.order_by("position"))
    bases = {center.name: {} for center in centers if center.kind == CostCenter.Kind.SERVICE}
    for service, user, base in CostBase.objects.filter(service__year=year).values_list(
        "service__name", "user__name", "base"
    ):
        bases[service][user] = base
    return (
        {center.name: center.yearly_cost.amount for center in centers},
        bases,
        year.boarding_days,
        year.theater_minutes,
    )
