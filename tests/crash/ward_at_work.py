"""A process that lives one day after another: gives care, signs the day off, and says each thing once it is kept.

    python -m tests.crash.ward_at_work [DAYS]

It goes on after the last signed day of the database in DATABASE_URL, for so many days or until it is killed.
"""

import sys
import uuid
from datetime import date, timedelta

import django

FIRST = date(2026, 10, 4)


def main(days: int) -> None:
    django.setup()
    from clinic.models import Signing

    say("ready")
    last = Signing.objects.order_by("-on").values_list("on", flat=True).first()
    on = last + timedelta(days=1) if last else FIRST
    for number in range(days):
        live(on + timedelta(days=number))


def live(on: date) -> None:
    from django.db import transaction

    from clinic.actions import care, sign_off
    from clinic.models import Service, Stay, User
    from clinic.queries import sign_off as preview
    from tests.clinic.make import AT

    nurse, manager = User.objects.get(sign_in="pilar"), User.objects.get(sign_in="amos")
    services = Service.objects.filter(code__in=("padded-dressing", "tablets"))
    facts = [
        care.Given(key=uuid.uuid4(), animal=stay.animal, on=on, service=service)
        for stay in Stay.objects.select_related("animal")
        for service in services
    ]
    with transaction.atomic(durable=True):
        care.record_all(facts=facts, by=nurse, today=on, at=AT)
    for fact in facts:
        say("given", fact.key)

    key, today = uuid.uuid4(), on + timedelta(days=1)
    read = preview.sign_off(on=on, today=today).digest
    with transaction.atomic(durable=True):
        sign_off.sign(key=key, on=on, digest=read, by=manager, today=today, at=AT)
    say("signed", key)


def say(*words: object) -> None:
    print(*words, flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
