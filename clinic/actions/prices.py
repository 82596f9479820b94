"""The price list: a service's three figures from a date on."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from djmoney.money import Money

from clinic.actions import follow_ups, services
from clinic.models import BoardingDay, CareItem, House, Price, Service, User
from clinic.queries.starting_prices import StartingPrice
from config.refusal import Refusal
from ledger.queries import holder

PERCENT_MOST = 999


class PriceNegative(Refusal):
    field = "cost"


class CostMissing(Refusal):
    field = "cost"


class CostComputedAndTyped(Refusal):
    field = "donated"


class AskedMissing(Refusal):
    field = "asked"


class PercentImpossible(Refusal):
    field = "asked_percent"


class DonatedAboveCost(Refusal):
    field = "donated"


class AskedAboveUsual(Refusal):
    field = "asked"


class DaySignedAlready(Refusal):
    field = "starts_on"


class PriceOnThatDay(Refusal):
    field = "starts_on"


@dataclass(frozen=True, kw_only=True)
class Said:
    """What a price says: each figure typed, or how it is come by."""

    usual_fee: Decimal
    cost: Decimal | None = None  # None where it is computed
    donated: Decimal | None = None
    asked: Decimal | None = None  # None where it is a share
    asked_from: str = Price.AskedFrom.TYPED
    asked_percent: Decimal | None = None

    @property
    def cost_from(self) -> str:
        return Price.CostFrom.COMPUTED if self.cost is None else Price.CostFrom.TYPED

    @classmethod
    def of(cls, price: Price) -> "Said":
        typed = price.asked_from == Price.AskedFrom.TYPED
        return cls(
            usual_fee=price.usual_fee.amount,
            cost=price.cost.amount if price.cost_from == Price.CostFrom.TYPED else None,
            donated=price.donated.amount if price.donated else None,
            asked=price.asked.amount if typed else None,
            asked_from=price.asked_from,
            asked_percent=price.asked_percent,
        )


@transaction.atomic
def set_price(
    *,
    service: Service,
    starts_on: date,
    usual_fee: Decimal,
    by: User,
    at: datetime,
    cost: Decimal | None = None,
    asked: Decimal | None = None,
    donated: Decimal | None = None,
    cost_from: str = Price.CostFrom.TYPED,
    asked_from: str = Price.AskedFrom.TYPED,
    asked_percent: Decimal | None = None,
) -> Price:
    """Set what a service costs, what a client pays and what the funds are asked, from a date on.

    `donated` is the part of a typed cost that comes as donated goods: less is asked in its proportion (C2). A computed
    cost is worked out for each day from the service's minutes and kit; `asked_percent` is a share of the usual fee or
    of the cost, as `asked_from` says.

    :raises CostMissing: when the cost is to be typed and was not.
    :raises CostComputedAndTyped: when a donated part was typed for a computed cost.
    :raises AskedMissing: when what is asked is to be typed and was not.
    :raises PercentImpossible: when a share has no percentage, one below zero, or more than all of the usual fee.
    :raises PriceNegative: when a figure is below zero.
    :raises DonatedAboveCost: when more is donated than it costs.
    :raises AskedAboveUsual: when more is asked than a client would pay.
    :raises DaySignedAlready: when a signed-off day on or after the date used the price before it.
    :raises PriceOnThatDay: when that date already has other figures.
    """
    if cost_from == Price.CostFrom.TYPED and cost is None:
        raise CostMissing("Write what it costs, or let the cost be computed. Nothing was saved.")
    said = Said(
        usual_fee=usual_fee,
        cost=cost if cost_from == Price.CostFrom.TYPED else None,
        donated=donated,
        asked=asked if asked_from == Price.AskedFrom.TYPED else None,
        asked_from=asked_from,
        asked_percent=None if asked_from == Price.AskedFrom.TYPED else asked_percent,
    )
    _check(said)
    known = Price.objects.filter(service=service, starts_on=starts_on).first()
    if known:
        if Said.of(known) == said:
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
        cost=Money(said.cost or 0, currency),
        usual_fee=Money(usual_fee, currency),
        asked=Money(said.asked or 0, currency),
        donated=None if donated is None else Money(donated, currency),
        cost_from=said.cost_from,
        asked_from=said.asked_from,
        asked_percent=said.asked_percent,
        set_by=by,
        set_at=at,
    )


def _check(said: Said) -> None:
    if min(said.cost or 0, said.usual_fee, said.asked or 0) < 0:
        raise PriceNegative("A price is zero or more. Nothing was saved.")
    if said.asked_from == Price.AskedFrom.TYPED:
        if said.asked is None:
            raise AskedMissing("Write what is asked, or choose a share. Nothing was saved.")
        if said.asked > said.usual_fee:
            raise AskedAboveUsual(
                f"{said.asked} is asked, but a client would pay {said.usual_fee}. "
                "Ask at most the usual fee; nothing was saved."
            )
    else:
        _check_share(said)
    if said.donated is None:
        return
    if said.cost is None:
        raise CostComputedAndTyped(
            "The cost is computed, so its donated part is too. Leave this empty; nothing was saved."
        )
    if not 0 <= said.donated <= said.cost:
        raise DonatedAboveCost(
            f"{said.donated} of it is donated, but it costs {said.cost}. Donated is at most the cost."
        )


def _check_share(said: Said) -> None:
    percent = said.asked_percent
    if percent is None or not 0 <= percent <= PERCENT_MOST:
        raise PercentImpossible(f"Write how many percent, from 0 to {PERCENT_MOST}. Nothing was saved.")
    if said.asked_from == Price.AskedFrom.USUAL_FEE and percent > 100:
        raise PercentImpossible("More than all of the usual fee is never asked. Write at most 100; nothing was saved.")
    if said.asked_from == Price.AskedFrom.COST and said.cost is not None:
        share = said.cost * percent / 100
        if share > said.usual_fee:
            raise AskedAboveUsual(
                f"{percent} % of the cost is {share.normalize():f}, but a client would pay {said.usual_fee}. "
                "Ask at most the usual fee; nothing was saved."
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
        if one.follow_ups:
            follow_ups.usually(service=service, plans=one.follow_ups)
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
        room_minutes=one.minutes if one.kind == Service.Kind.PROCEDURE else 0,
        usual_most=60 if one.unit == "minute" else 12,
    )


def _signed_since(service: Service, day: date) -> bool:
    boarded = BoardingDay.objects.filter(level__service=service, on__gte=day).exists()
    return boarded or CareItem.objects.filter(service=service, on__gte=day, signing__isnull=False).exists()
