"""What a supply costs to buy, from a date on."""

from datetime import date, datetime
from decimal import Decimal

from django.db import transaction
from djmoney.money import Money

from clinic.actions import costed_days
from clinic.models import KitLine, Supply, SupplyPrice, User
from config.refusal import Refusal
from ledger.queries import holder


class CostNegative(Refusal):
    field = "cost"


class CostOnThatDay(Refusal):
    field = "starts_on"


@transaction.atomic
def set_supply_price(*, supply: Supply, starts_on: date, cost: Decimal, by: User, at: datetime) -> SupplyPrice:
    """Set what one unit of a supply costs from a date on; days before keep theirs.

    :raises CostNegative: when it is below zero.
    :raises CostOnThatDay: when that date already has another cost.
    :raises DayCostedAlready: when a signed-off day on or after the date used the cost before it.
    """
    if cost < 0:
        raise CostNegative("A supply costs zero or more. Nothing was saved.")
    known = supply.prices.filter(starts_on=starts_on).first()
    if known:
        if known.cost.amount == cost:
            return known
        raise CostOnThatDay(f"{supply.name} already has a cost from {starts_on}. Choose a later day.")
    if supply.prices.exists():
        services = KitLine.objects.filter(supply=supply).values_list("kit__service", flat=True)
        costed_days.check(services=set(services), starts_on=starts_on, words=supply.name)
    return SupplyPrice.objects.create(
        supply=supply, starts_on=starts_on, cost=Money(cost, holder.holder().currency), set_by=by, set_at=at
    )
