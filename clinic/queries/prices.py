"""The price list: every service with the three figures in force on a day."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Max, Q

from clinic.models import KitLine, Price, Service
from clinic.queries.unit_prices import UnitPrice, UnitPrices
from clinic.queries.written import at_least, quantity_words
from ledger.formulas import money
from ledger.queries import holder

OLD_AFTER = timedelta(days=365)
COMPUTED = "computed"


@dataclass(frozen=True)
class PriceLine:
    service_id: int
    name: str
    unit: str
    starts_on: date | None
    cost: Decimal | None
    usual_fee: Decimal | None
    asked: Decimal | None
    computed: bool  # the cost
    share: str  # "45 % of usual fee" where what is asked is a share, or empty
    obstacle: str  # why nothing can be charged at this price; empty when it can
    old: bool
    next_on: date | None
    kit: str  # "1 pad absorbent pad, 0.5 roll padding bandage", or empty


@dataclass(frozen=True)
class PriceGroup:
    words: str
    lines: tuple[PriceLine, ...]


@dataclass(frozen=True)
class Prices:
    on: date
    groups: tuple[PriceGroup, ...]
    currency: str
    digits: int

    @property
    def missing(self) -> int:
        return sum(line.starts_on is None for group in self.groups for line in group.lines)

    @property
    def obstacles(self) -> tuple[PriceLine, ...]:
        return tuple(line for group in self.groups for line in group.lines if line.obstacle)


def prices(*, on: date) -> Prices:
    currency = holder.holder().currency
    digits = money.minor_digits(currency)
    services = list(Service.objects.filter(retired_on__isnull=True).order_by("name"))
    now = UnitPrices(services=[service.pk for service in services], until=on)
    later = dict(
        Price.objects.filter(starts_on__gt=on).order_by("-starts_on").values_list("service", "starts_on")
    )  # the nearest one is read last
    kits = _kits()
    groups: dict[str, list[PriceLine]] = defaultdict(list)
    for service in services:
        price = now.on(service.pk, on)
        groups[service.kind].append(
            _line(service, price, later.get(service.pk), kits.get(service.pk, ""), on=on, digits=digits)
        )
    return Prices(
        on=on,
        groups=tuple(
            PriceGroup(kind.label, tuple(groups[kind.value])) for kind in Service.Kind if kind.value in groups
        ),
        currency=currency,
        digits=digits,
    )


def price_rows(*, on: date) -> list[tuple[str, str, str, str, Decimal | str, Decimal | str, Decimal, Decimal | str]]:
    """Return the list in force on `on` as the rows of a file: code, name, unit, since, cost, donated, usual, asked."""
    found = Price.objects.filter(starts_on__lte=on, service__retired_on__isnull=True).select_related("service")
    now = {price.service_id: price for price in found.order_by("starts_on")}
    return [
        (
            price.service.code,
            price.service.name,
            price.service.unit,
            price.starts_on.isoformat(),
            COMPUTED if price.cost_from == Price.CostFrom.COMPUTED else _plain(price.cost.amount),
            _plain(price.donated.amount) if price.donated else "",
            _plain(price.usual_fee.amount),
            share_words(price.asked_from, price.asked_percent) or _plain(price.asked.amount),
        )
        for price in sorted(now.values(), key=lambda price: (price.service.kind, price.service.name))
    ]


def share_words(asked_from: str, percent: Decimal | Fraction | None) -> str:
    """Write a share as the list's file does, or nothing where an amount is asked.

    >>> share_words("usual_fee", Decimal("45.500")), share_words("typed", None)
    ('45.5 % of usual fee', '')
    """
    if asked_from == Price.AskedFrom.TYPED or percent is None:
        return ""
    return f"{quantity_words(Fraction(percent))} % of {Price.AskedFrom(asked_from).label}"


def _plain(amount: Decimal) -> Decimal:
    return Decimal(f"{amount.normalize():f}")


def old_prices(*, on: date) -> tuple[str, ...]:
    """Return the names of the services whose price on `on` is older than twelve months."""
    since = Max("prices__starts_on", filter=Q(prices__starts_on__lte=on))
    found = Service.objects.filter(retired_on__isnull=True).annotate(since=since).filter(since__lt=on - OLD_AFTER)
    return tuple(found.order_by("name").values_list("name", flat=True))


def kit_words(*, service: Service) -> str:
    """Write a service's kit as it is typed: one supply to a line."""
    lines = KitLine.objects.filter(kit__service=service).select_related("supply").order_by("pk")
    return "\n".join(f"{line.quantity.normalize():f} {line.supply.unit} {line.supply.name}" for line in lines)


def _kits() -> dict[int, str]:
    words: dict[int, list[str]] = defaultdict(list)
    for line in KitLine.objects.select_related("supply", "kit").order_by("pk"):
        words[line.kit.service_id].append(
            f"{line.quantity.normalize():f} {line.supply.unit} {line.supply.name.lower()}"
        )
    return {service: ", ".join(found) for service, found in words.items()}


def _line(
    service: Service, price: UnitPrice | None, next_on: date | None, kit: str, *, on: date, digits: int
) -> PriceLine:
    def written(amount: Fraction) -> Decimal:
        """A typed price may be finer than the currency; a computed one is shown as it would be charged."""
        return at_least(amount, digits, 0 if price and price.is_computed else 6 - digits)

    priced = price if price and not price.obstacle else None
    return PriceLine(
        service_id=service.pk,
        name=service.name,
        unit=service.unit,
        starts_on=price.starts_on if price else None,
        cost=written(priced.cost) if priced else None,
        usual_fee=written(price.usual_fee) if price else None,
        asked=written(priced.asked) if priced else None,
        computed=bool(price and price.is_computed),
        share=share_words(price.asked_from, price.percent) if price else "",
        obstacle=price.obstacle if price else "",
        old=bool(price) and on - price.starts_on > OLD_AFTER,
        next_on=next_on,
        kit=kit,
    )
