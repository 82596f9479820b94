"""The price list: every service with the three figures in force on a day."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Max, Q

from clinic.models import KitLine, Price, Service
from ledger.formulas import money
from ledger.queries import holder

OLD_AFTER = timedelta(days=365)


@dataclass(frozen=True)
class PriceLine:
    service_id: int
    name: str
    unit: str
    starts_on: date | None
    cost: Decimal | None
    usual_fee: Decimal | None
    asked: Decimal | None
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
        return sum(line.cost is None for group in self.groups for line in group.lines)


def prices(*, on: date) -> Prices:
    currency = holder.holder().currency
    digits = money.minor_digits(currency)
    now: dict[int, Price] = {}
    later: dict[int, date] = {}
    for price in Price.objects.order_by("starts_on"):
        if price.starts_on <= on:
            now[price.service_id] = price
        else:
            later.setdefault(price.service_id, price.starts_on)
    kits = _kits()
    groups: dict[str, list[PriceLine]] = defaultdict(list)
    for service in Service.objects.filter(retired_on__isnull=True).order_by("name"):
        groups[service.kind].append(
            _line(service, now.get(service.pk), later.get(service.pk), kits.get(service.pk, ""), on=on, digits=digits)
        )
    return Prices(
        on=on,
        groups=tuple(
            PriceGroup(kind.label, tuple(groups[kind.value])) for kind in Service.Kind if kind.value in groups
        ),
        currency=currency,
        digits=digits,
    )


def price_rows(*, on: date) -> list[tuple[str, str, str, str, Decimal, Decimal | str, Decimal, Decimal]]:
    """Return the list in force on `on` as the rows of a file: code, name, unit, since, cost, donated, usual, asked."""
    found = Price.objects.filter(starts_on__lte=on, service__retired_on__isnull=True).select_related("service")
    now = {price.service_id: price for price in found.order_by("starts_on")}
    return [
        (
            price.service.code,
            price.service.name,
            price.service.unit,
            price.starts_on.isoformat(),
            _plain(price.cost.amount),
            _plain(price.donated.amount) if price.donated else "",
            _plain(price.usual_fee.amount),
            _plain(price.asked.amount),
        )
        for price in sorted(now.values(), key=lambda price: (price.service.kind, price.service.name))
    ]


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


def _line(service: Service, price: Price | None, next_on: date | None, kit: str, *, on: date, digits: int) -> PriceLine:
    def shown(amount: Decimal) -> Decimal:
        """Write an amount with the currency's digits, and finer only where the price is."""
        least = Decimal(1).scaleb(-digits)
        return amount.quantize(least) if amount == amount.quantize(least) else amount.normalize()

    return PriceLine(
        service_id=service.pk,
        name=service.name,
        unit=service.unit,
        starts_on=price.starts_on if price else None,
        cost=shown(price.cost.amount) if price else None,
        usual_fee=shown(price.usual_fee.amount) if price else None,
        asked=shown(price.asked.amount) if price else None,
        old=bool(price) and on - price.starts_on > OLD_AFTER,
        next_on=next_on,
        kit=kit,
    )
