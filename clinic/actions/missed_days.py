"""Late entries of several days, written down together or not at all (B7)."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import care, groups
from clinic.models import Order, User


@dataclass(frozen=True, kw_only=True)
class Missed:
    """One time that something ordered was given on a day that is over."""

    key: UUID
    order: Order
    on: date
    round: str
    late_source: str
    given_by: str


@transaction.atomic
def record(*, missed: Sequence[Missed], by: User, today: date, at: datetime) -> int:
    """Write down what was given on earlier days and return how many times.

    :raises Refusal: as `care.record_all`; then none of it is written.
    """
    alone = [one for one in missed if one.order.for_group_id is None]
    facts = [
        care.Given(
            key=one.key,
            animal=one.order.animal,
            on=one.on,
            service=one.order.service,
            order=one.order,
            round=one.round,
            late_source=one.late_source,
            given_by=one.given_by,
        )
        for one in alone
    ]
    care.record_all(facts=facts, by=by, today=today, at=at)
    for one in missed:
        if one.order.for_group_id is not None:
            groups.give(
                key=one.key,
                group=one.order.for_group,
                on=one.on,
                service=one.order.service,
                order=one.order,
                round=one.round,
                late_source=one.late_source,
                given_by=one.given_by,
                by=by,
                today=today,
                at=at,
            )
    return len(missed)
