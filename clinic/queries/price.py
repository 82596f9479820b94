"""One service's price: what the one in force says, and how its computed cost comes about."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from djmoney.money import Money

from clinic.models import Price, Service
from clinic.queries.unit_costs import UnitCosts
from clinic.queries.unit_prices import UnitPrices
from clinic.queries.written import FINER, at_least, quantity_words
from ledger.queries import holder


def price_said(*, service: Service, on: date) -> dict[str, Decimal | str | None]:
    """Return what the price in force says, as its form takes it, so that a new one begins from it."""
    price = Price.objects.filter(service=service, starts_on__lte=on).order_by("starts_on").last()
    if price is None:
        return {}
    computed, share = price.cost_from == Price.CostFrom.COMPUTED, price.asked_from != Price.AskedFrom.TYPED
    digits = holder.holder().digits

    def written(amount: Money) -> Decimal:
        return at_least(Fraction(amount.amount), digits, 6 - digits)

    return {
        "cost_from": price.cost_from,
        "cost": None if computed else written(price.cost),
        "donated": written(price.donated) if price.donated else None,
        "usual_fee": written(price.usual_fee),
        "asked_from": price.asked_from,
        "asked": None if share else written(price.asked),
        "asked_percent": price.asked_percent.normalize() if price.asked_percent is not None else None,
    }


@dataclass(frozen=True)
class WorkingLine:
    words: str
    quantity: str  # "12 min", "0.5 roll"
    rate: Decimal | None
    amount: Decimal | None


@dataclass(frozen=True)
class Working:
    """How the computed cost of one unit comes about on a day."""

    on: date
    lines: tuple[WorkingLine, ...]
    cost: Decimal
    obstacle: str
    used: bool  # the price in force takes its cost from here


def working(*, service: Service, on: date) -> Working:
    """Return what one unit costs by its minutes and its kit, line by line, whether the price uses it or not."""
    digits = holder.holder().digits
    price = UnitPrices(services=[service.pk], until=on).on(service.pk, on)
    found = (
        price.working if price and price.working else UnitCosts(services=[service.pk], until=on).of(service.pk, on=on)
    )
    return Working(
        on=on,
        lines=tuple(
            WorkingLine(
                words=line.words,
                quantity=f"{quantity_words(line.quantity)} {line.unit}",
                rate=None if line.rate is None else at_least(line.rate, digits, FINER),
                amount=None if line.rate is None else at_least(line.amount, digits, FINER),
            )
            for line in found.lines
        ),
        cost=at_least(found.amount, digits, FINER),
        obstacle=found.obstacle,
        used=bool(price and price.is_computed),
    )
