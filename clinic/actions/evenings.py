"""The evening asks one thing: "24 in care. All seen?" """

from datetime import date, datetime

from django.db import transaction
from django.db.models import Q

from clinic.models import EveningSeen, Stay, User, WardSheet
from config.refusal import Refusal


class EveningAhead(Refusal):
    pass


@transaction.atomic
def confirm(*, on: date, by: User, today: date, at: datetime) -> EveningSeen:
    """Keep who has seen every animal in care on `on`, and when; confirming again keeps the first.

    :raises EveningAhead: when the day has not come yet.
    """
    if on > today:
        raise EveningAhead(f"{on:%B} {on.day} has not come yet, so nobody can have been seen. Nothing was written.")
    sheet, _ = WardSheet.objects.select_for_update().get_or_create(on=on)
    known = EveningSeen.objects.filter(sheet=sheet).first()
    if known:
        return known
    stays = Stay.objects.filter(admitted_on__lte=on, is_history=False)
    in_care = stays.filter(Q(discharged_on__isnull=True) | Q(discharged_on__gt=on)).count()
    return EveningSeen.objects.create(sheet=sheet, animals=in_care, by=by, at=at)
