"""Whole price lists: copied forward with a percentage, and brought in from a file, every row or none."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from clinic.actions import prices
from clinic.forms.price_list import ListedPrice
from clinic.formulas import price_lists
from clinic.models import Price, Service, User
from config.refusal import Refusal
from ledger.queries import holder


class NothingToCopy(Refusal):
    field = "starts_on"


class PercentTooLow(Refusal):
    field = "percent"


class RowsRefused(Refusal):
    field = "file"


@dataclass(frozen=True)
class Judged:
    """A row of a list, and why it cannot stand; empty when it can."""

    row: ListedPrice
    name: str
    sentence: str


@transaction.atomic
def copy_forward(*, starts_on: date, percent: Decimal, figures: Collection[str], by: User, at: datetime) -> int:
    """Give every service that has a price before `starts_on` a new one from then on; return how many.

    `figures` are those that rise by the percentage (cost, usual_fee, asked); the donated part rises with the cost.

    :raises PercentTooLow: when the percentage leaves less than nothing.
    :raises NothingToCopy: when no service has a price before that day.
    :raises Refusal: as `prices.set_price`, with the service's name.
    """
    if percent < -100:
        raise PercentTooLow("A price cannot fall by more than all of it. Nothing was saved.")
    found = _in_force_before(starts_on)
    if not found:
        raise NothingToCopy(f"No service has a price before {starts_on}. Nothing was saved.")
    digits = holder.holder().digits
    for price in found:
        prices.set_price(
            service=price.service,
            starts_on=starts_on,
            **_risen(price, percent=percent, figures=figures, digits=digits),
            by=by,
            at=at,
        )
    return len(found)


def _in_force_before(day: date) -> list[Price]:
    before = Price.objects.filter(starts_on__lt=day, service__retired_on__isnull=True).select_related("service")
    return list({price.service_id: price for price in before.order_by("starts_on")}.values())


def _risen(price: Price, *, percent: Decimal, figures: Collection[str], digits: int) -> dict[str, Any]:
    """Raise what was typed; what is computed, or a share, is come by in the same way as before."""
    said = prices.Said.of(price)
    old = {"cost": said.cost, "usual_fee": said.usual_fee, "asked": said.asked, "donated": said.donated}
    typed = {name: amount for name, amount in old.items() if amount is not None}
    new = price_lists.raised(figures=list(typed.values()), percent=percent, least_digits=digits)
    moving = {*figures, "donated"} if "cost" in figures else {*figures}
    risen = {name: amount if name in moving else old[name] for name, amount in zip(typed, new, strict=True)}
    asked = {"asked_from": said.asked_from, "asked_percent": said.asked_percent}
    return {**old, **risen, **asked, "cost_from": said.cost_from}


def judge(*, rows: Sequence[ListedPrice], by: User, at: datetime) -> tuple[Judged, ...]:
    """Say of each row whether it can stand, by trying it; nothing is written."""
    with transaction.atomic():
        judged = _try(rows, by=by, at=at)
        transaction.set_rollback(True)
    return judged


@transaction.atomic
def bring_in(*, rows: Sequence[ListedPrice], by: User, at: datetime) -> int:
    """Set the prices of a list, all or none; a price that is there with the same figures stays. Return how many rows.

    :raises RowsRefused: when a row cannot stand.
    """
    wrong = [one for one in _try(rows, by=by, at=at) if one.sentence]
    if wrong:
        raise RowsRefused(f"Line {wrong[0].row.line}: {wrong[0].sentence} Nothing of the list was saved.")
    return len(rows)


def _try(rows: Sequence[ListedPrice], *, by: User, at: datetime) -> tuple[Judged, ...]:
    known = {service.code: service for service in Service.objects.all()}
    return tuple(_try_one(row, known.get(row.code), by=by, at=at) for row in rows)


def _try_one(row: ListedPrice, service: Service | None, *, by: User, at: datetime) -> Judged:
    if service is None:
        return Judged(row, row.code, f"There is no service with the code {row.code!r}. Add it first.")
    try:
        with transaction.atomic():
            prices.set_price(service=service, **row.figures(), by=by, at=at)
    except Refusal as refused:
        return Judged(row, service.name, str(refused))
    return Judged(row, service.name, "")
