"""The vet's standing instructions: given, and stopped."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import history
from clinic.formulas.rounds import ROUNDS
from clinic.models import Animal, Group, Order, Service, User
from config.refusal import Refusal


class NoRound(Refusal):
    field = "rounds"


class KeyUsedAgain(Refusal):
    pass


@transaction.atomic
def give(
    *,
    key: UUID,
    animal: Animal,
    service: Service,
    rounds: list[str],
    starts_on: date,
    by: User,
    at: datetime,
    every_days: int = 1,
    until_on: date | None = None,
    words: str = "",
    for_group: Group | None = None,
) -> Order:
    """Order something for an animal; the same key sent again returns the order it made.

    :raises NoRound: when no round of the day is named.
    :raises KeyUsedAgain: when the key belongs to another order.
    """
    known = Order.objects.filter(key=key).first()
    if known:
        kept = (known.animal_id, known.service_id, known.every_days, known.starts_on, known.until_on, known.words)
        said = (animal.pk, service.pk, every_days, starts_on, until_on, words)
        if kept != said or set(known.rounds) != set(rounds):
            raise KeyUsedAgain("This form has already given another order. Open it anew; nothing was written twice.")
        return known
    chosen = [name for name in ROUNDS if name in rounds]
    if not chosen:
        raise NoRound("Choose at least one round: morning, midday, evening or night.")
    order = Order.objects.create(
        key=key,
        animal=animal,
        service=service,
        rounds=chosen,
        every_days=every_days,
        starts_on=starts_on,
        until_on=until_on,
        words=words,
        for_group=for_group,
        ordered_by=by,
    )
    history.note(
        animal=animal,
        what="order",
        what_id=order.pk,
        by=by,
        at=at,
        after={"service": service.name, "rounds": chosen, "every_days": every_days},
    )
    return order


@transaction.atomic
def stop(*, order: Order, on: date, by: User, at: datetime, why: str = "") -> Order:
    """Stop an order from a day on; what was given stays. Stopping it again changes nothing."""
    if order.stopped_on is not None:
        return order
    order.stopped_on, order.stopped_by = on, by
    order.save(update_fields=["stopped_on", "stopped_by"])
    history.note(
        animal=order.animal, what="order", what_id=order.pk, by=by, at=at, after={"stopped_on": str(on)}, why=why
    )
    return order
