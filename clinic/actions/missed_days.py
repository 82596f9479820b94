"""Late entries of several days, written down together or not at all (B7)."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
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

    @property
    def said(self) -> dict[str, Any]:
        """What a fact of one animal and one of a group are both told."""
        return {
            "key": self.key,
            "on": self.on,
            "service": self.order.service,
            "order": self.order,
            "round": self.round,
            "late_source": self.late_source,
            "given_by": self.given_by,
        }


@transaction.atomic
def record(*, missed: Sequence[Missed], by: User, today: date, at: datetime) -> int:
    """Write down what was given on earlier days and return how many times.

    :raises Refusal: as `care.record_all`; then none of it is written.
    """
    facts = [care.Given(animal=one.order.animal, **one.said) for one in missed if one.order.for_group_id is None]
    care.record_all(facts=facts, by=by, today=today, at=at)
    for one in missed:
        if one.order.for_group_id is not None:
            groups.give(group=one.order.for_group, **one.said, by=by, today=today, at=at)
    return len(missed)
