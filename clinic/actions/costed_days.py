"""Keeps a new cost from starting on a day that was signed off with the cost before it."""

from collections.abc import Collection
from datetime import date

from clinic.models import BoardingDay, CareItem, House, Price
from clinic.queries.unit_prices import UnitPrices
from config.refusal import Refusal


class DayCostedAlready(Refusal):
    field = "starts_on"


def check(*, services: Collection[int], starts_on: date, words: str) -> None:
    """Lock the house and look for a signed day from `starts_on` on whose charge was computed from what `words` costs.

    :raises DayCostedAlready: when there is one.
    """
    list(House.objects.select_for_update())  # a day that is being signed at this moment counts as signed
    computed = Price.objects.filter(service__in=services, cost_from=Price.CostFrom.COMPUTED)
    wanted = set(computed.values_list("service", flat=True))
    if not wanted:
        return
    boarded = BoardingDay.objects.filter(level__service__in=wanted, on__gte=starts_on)
    given = CareItem.objects.filter(service__in=wanted, on__gte=starts_on, signing__isnull=False)
    days = {*boarded.values_list("level__service", "on"), *given.values_list("service", "on")}
    prices = UnitPrices(services=wanted, until=max((day for _, day in days), default=starts_on))
    if any((price := prices.on(service, day)) and price.is_computed for service, day in days):
        raise DayCostedAlready(
            f"A day on or after {starts_on} is signed off with the earlier cost of {words}. "
            "Let the new cost start on a later day; nothing was saved."
        )
