"""The evening asks one thing: "24 in care. All seen?" """

from datetime import date, datetime

from django.db import transaction

from clinic.models import EveningSeen, Stay, User, WardSheet


@transaction.atomic
def confirm(*, on: date, by: User, at: datetime) -> EveningSeen:
    """Keep who has seen every animal in care on `on`, and when; confirming again keeps the first."""
    sheet, _ = WardSheet.objects.get_or_create(on=on)
    known = EveningSeen.objects.filter(sheet=sheet).first()
    if known:
        return known
    in_care = Stay.objects.filter(admitted_on__lte=on, is_history=False).exclude(discharged_on__lte=on).count()
    return EveningSeen.objects.create(sheet=sheet, animals=in_care, by=by, at=at)
