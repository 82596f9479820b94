"""The price list: a service's three figures from a date on."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from djmoney.money import Money

from clinic.actions import services
from clinic.models import BoardingDay, CareItem, House, Price, Service, User
from clinic.queries.starting_prices import StartingPrice
from config.refusal import Refusal
from ledger.queries import holder


class PriceNegative(Refusal):
    field = "cost"


class DonatedAboveCost(Refusal):
    field = "donated"


class AskedAboveUsual(Refusal):
    field = "asked"


class DaySignedAlready(Refusal):
    field = "starts_on"


class PriceOnThatDay(Refusal):
    field = "starts_on"


@transaction.atomic
def set_price(
    *,
    service: Service,
    starts_on: date,
    cost: Decimal,
    usual_fee: Decimal,
    asked: Decimal,
    by: User,
    at: datetime,
    donated: Decimal | None = None,
) -> Price:
    """Set what a service costs, what a client pays and what the funds are asked, from a date on.

    `donated` is the part of the cost that comes as donated goods: less is asked in its proportion (C2).

    :raises PriceNegative: when a figure is below zero.
    :raises DonatedAboveCost: when more is donated than it costs.
    :raises AskedAboveUsual: when more is asked than a client would pay.
    :raises DaySignedAlready: when a signed-off day on or after the date used the price before it.
    :raises PriceOnThatDay: when that date already has other figures.
    """
    if min(cost, usual_fee, asked) < 0:
        raise PriceNegative("A price is zero or more. Nothing was saved.")
    if asked > usual_fee:
        raise AskedAboveUsual(
            f"{asked} is asked, but a client would pay {usual_fee}. Ask at most the usual fee; nothing was saved."
        )
    if donated is not None and not 0 <= donated <= cost:
        raise DonatedAboveCost(f"{donated} of it is donated, but it costs {cost}. Donated is at most the cost.")
    known = Price.objects.filter(service=service, starts_on=starts_on).first()
    if known:
        given = known.donated.amount if known.donated else None
        if (known.cost.amount, known.usual_fee.amount, known.asked.amount, given) == (cost, usual_fee, asked, donated):
            return known
        raise PriceOnThatDay(f"{service.name} already has a price from {starts_on}. Choose a later day.")
    list(House.objects.select_for_update())  # a day that is being signed at this moment counts as signed
    if service.prices.exists() and _signed_since(service, starts_on):
        raise DaySignedAlready(
            f"A day on or after {starts_on} is signed off with the earlier price of {service.name}. "
            "Let the new price start on a later day; nothing was saved."
        )
    currency = holder.holder().currency
    return Price.objects.create(
        service=service,
        starts_on=starts_on,
        cost=Money(cost, currency),
        usual_fee=Money(usual_fee, currency),
        asked=Money(asked, currency),
        donated=None if donated is None else Money(donated, currency),
        set_by=by,
        set_at=at,
    )


@transaction.atomic
def take_starting_list(*, listed: Iterable[StartingPrice], starts_on: date, by: User, at: datetime) -> int:
    """Add the services of a starting list that are not there yet, each with its price and kit; return how many."""
    known = set(Service.objects.values_list("code", flat=True))
    new = [one for one in listed if one.code not in known]
    for number, one in enumerate(new):
        service = _service(one, position=number)
        if one.kit:
            services.fill_kit(service=service, supplies=list(one.kit))
        set_price(
            service=service,
            starts_on=starts_on,
            cost=one.cost,
            usual_fee=one.usual_fee,
            asked=one.asked,
            by=by,
            at=at,
        )
    return len(new)


def _service(one: StartingPrice, *, position: int) -> Service:
    if one.kind == Service.Kind.BOARDING:
        return services.add_boarding_level(
            code=one.code, name=one.name, position=position, standard_minutes=one.minutes
        ).service
    return services.add_service(
        code=one.code,
        name=one.name,
        kind=one.kind,
        unit=one.unit,
        standard_minutes=one.minutes,
        usual_most=60 if one.unit == "minute" else 12,
    )


def _signed_since(service: Service, day: date) -> bool:
    boarded = BoardingDay.objects.filter(level__service=service, on__gte=day).exists()
    return boarded or CareItem.objects.filter(service=service, on__gte=day, signing__isnull=False).exists()
