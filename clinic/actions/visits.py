"""A visit: care of an animal that is not in the ward; it makes no night (B3)."""

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Q

from clinic.actions import care
from clinic.models import Animal, CareItem, Service, User
from config.refusal import Refusal


class InCareThen(Refusal):
    field = "on"


@transaction.atomic
def visit(
    *,
    key: UUID,
    animal: Animal,
    on: date,
    service: Service,
    by: User,
    today: date,
    at: datetime,
    quantity: Decimal = Decimal(1),
    late_source: str = "",
    words: str = "",
) -> CareItem:
    """Write down what an animal got at a visit, and what was seen of it.

    :raises InCareThen: when it was in the ward that day: then it stands on its row.
    :raises Refusal: as `care.record`.
    """
    stays = animal.stays.filter(admitted_on__lte=on).filter(Q(discharged_on=None) | Q(discharged_on__gt=on))
    if stays.exists():
        raise InCareThen(
            f"{animal.name or animal.number} was in care on {on:%B} {on.day}. Write it on its row of that day’s ward "
            "sheet; nothing was saved."
        )
    said = {"service": service, "quantity": quantity, "late_source": late_source}
    item = care.record(key=key, animal=animal, on=on, **said, by=by, today=today, at=at)
    if words.strip():
        care.observe(
            key=uuid5(key, "seen"), animal=animal, on=on, kind="note", words=words.strip(), by=by, today=today, at=at
        )
    return item
