"""Bills: photographed at the animal by anybody, checked by the bookkeeper, charged, paid or given (B8).

Refusal
└── BillRefused
    ├── BillAhead        a day of care that has not come yet
    ├── AmountImpossible zero, negative, or beyond reason
    └── CheckedAlready   somebody has checked it before
"""

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction

from clinic.actions import history
from clinic.models import Animal, Bill, User
from clinic.queries import plan_keys
from config.refusal import Refusal
from config.uploads import KeptFile
from ledger.actions import bills as in_the_books
from ledger.actions import charges
from ledger.formulas.slips import MOST_MINOR, Slip


class BillRefused(Refusal):
    """Nothing was written; the bill stays as it was."""


class BillAhead(BillRefused):
    field = "care_on"

    def __init__(self, on: date) -> None:
        super().__init__(f"{on} has not come yet. Nothing was written. Give the day of the care that is billed.")


class AmountImpossible(BillRefused):
    field = "amount_minor"

    def __init__(self) -> None:
        super().__init__(
            "A bill asks for more than nothing. Nothing was written. Write the amount as it stands on the paper."
        )


class CheckedAlready(BillRefused):
    def __init__(self, words: str) -> None:
        super().__init__(
            f"This bill is {words} already. Nothing was changed. To mend it, take its line back on the animal's page."
        )


@transaction.atomic
def add(
    *,
    key: UUID,
    animal: Animal,
    sender: str,
    words: str,
    care_on: date,
    file: KeptFile,
    by: User,
    today: date,
    at: datetime,
) -> Bill:
    """Keep a bill that somebody photographed; the same form sent twice is one bill.

    :raises BillAhead: when the day of care has not come.
    """
    if known := Bill.objects.filter(key=key).first():
        return known
    if care_on > today:
        raise BillAhead(care_on)
    bill = Bill.objects.create(
        key=key,
        animal=animal,
        sender=sender.strip(),
        words=words.strip(),
        care_on=care_on,
        sha256=file.sha256,
        content_type=file.content_type,
        added_by=by,
        added_at=at,
    )
    _told(bill, by=by, at=at, after={"sender": bill.sender, "on": str(care_on)})
    return bill


@transaction.atomic
def accept(*, bill: Bill, amount_minor: int, care_on: date, number: str, by: User, today: date, at: datetime) -> Bill:
    """Enter a bill's amount: one line of care, cost = usual fee = asked, owed to its sender.

    :raises BillRefused: when it was checked before, or amount or date cannot be.
    """
    return _check(bill, Bill.State.ACCEPTED, amount_minor, care_on, number, by=by, today=today, at=at)


@transaction.atomic
def give(*, bill: Bill, amount_minor: int, care_on: date, number: str, by: User, today: date, at: datetime) -> Bill:
    """Enter a bill that its sender gives: a line that asks nothing, with what it would have cost.

    :raises BillRefused: when it was checked before, or amount or date cannot be.
    """
    return _check(bill, Bill.State.GIVEN, amount_minor, care_on, number, by=by, today=today, at=at)


@transaction.atomic
def pay(*, key: UUID, bill: Bill, on: date, by: User, today: date, at: datetime) -> int:
    """Record that an accepted bill was paid, out of the funds that owe it; return the entry's number.

    :raises BillRefused: when it is not in the books, or nothing of it is owed (of the ledger).
    """
    payment = in_the_books.pay(key=key, slip_key=bill.slip_key or bill.key, on=on, by=by.pk, today=today, at=at)
    return payment.entry_id


@transaction.atomic
def tell_paid(*, slip_key: UUID, payment_id: int, on: date, by: int, at: datetime, **_: object) -> None:
    """Write into the animal's history that its bill was paid, on its own page or by a line of the bank."""
    bill = Bill.objects.filter(slip_key=slip_key).select_related("animal").first()
    if bill is not None:
        person, after = User.objects.get(pk=by), {"bill": bill.pk, "on": str(on)}
        history.note(animal=bill.animal, what="bill paid", what_id=payment_id, by=person, at=at, after=after)


def _check(
    bill: Bill, state: str, amount_minor: int, care_on: date, number: str, *, by: User, today: date, at: datetime
) -> Bill:
    bill = Bill.objects.select_for_update(of=("self",)).select_related("animal__partner").get(pk=bill.pk)
    if bill.state != Bill.State.TO_CHECK:
        if (bill.state, bill.amount_minor, bill.care_on, bill.number) == (state, amount_minor, care_on, number.strip()):
            return bill
        raise CheckedAlready(bill.get_state_display())
    if care_on > today:
        raise BillAhead(care_on)
    if not 0 < amount_minor <= MOST_MINOR:
        raise AmountImpossible
    bill.state, bill.amount_minor, bill.care_on, bill.number = state, amount_minor, care_on, number.strip()
    bill.slip_key, bill.checked_by, bill.checked_at = uuid5(bill.key, "charge"), by, at
    charges.post_day(slips=[_slip(bill, today)], by=by.pk, today=today, at=at)
    bill.save()
    _told(bill, by=by, at=at, after={"state": state, "on": str(care_on)})
    return bill


def _slip(bill: Bill, today: date) -> Slip:
    animal, given = bill.animal, bill.state == Bill.State.GIVEN
    species = f"species:{animal.species.replace(' ', '-')}"
    words = _words(bill)
    return Slip(
        key=bill.slip_key,
        subject_key=animal.key,
        party_key=animal.partner.key if animal.partner else "",
        plan_key=plan_keys.on_a_path(animals=[animal.pk], on=bill.care_on).get(animal.pk, ""),
        kind="outside_services",
        traits=frozenset({"bill", "outside", species, *(["given_by_sender"] if given else [])}),
        care_on=bill.care_on,
        words=f"{words}, given by its sender" if given else words,
        subject_words=animal.name or animal.number,
        quantity=Decimal(1),
        unit="bill",
        cost_minor=bill.amount_minor,
        usual_minor=bill.amount_minor,
        asked_minor=0 if given else bill.amount_minor,
        late=bill.care_on < today,
        owed_to="practice" if given else "bill",
    )


def _words(bill: Bill) -> str:
    number = f" {bill.number}" if bill.number else ""
    return f"{bill.words}, bill{number} of {bill.sender}"[:200]


def _told(bill: Bill, *, by: User, at: datetime, after: dict[str, str]) -> None:
    history.note(animal=bill.animal, what="bill", what_id=bill.pk, by=by, at=at, after=after)
