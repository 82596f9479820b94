"""Pays a bill that an outsider sent for an animal, out of the funds that owe it (B8).

PostingRefused
└── BillRefused
    ├── NotInTheBooks   no bill was accepted under this key
    └── NothingOwed     no fund owes anything of it

`paid` is sent in the payment's own transaction, whichever way it was recorded, with its `slip_key`, `payment_id`, `on`,
`by` and `at`: whoever keeps the care that the bill was for writes it into its history.
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.dispatch import Signal

from ledger import posting
from ledger.actions.income import check_date
from ledger.models import BillPayment, Charge, Entry, Words, accounts
from ledger.posting import Draft, Leg, PostingRefused
from ledger.queries.bills import owed_by_charge

paid = Signal()


class BillRefused(PostingRefused):
    """Nothing was paid; the books were left as they were."""


class NotInTheBooks(BillRefused):
    def __init__(self) -> None:
        super().__init__("This bill is not in the books yet. Nothing was recorded. Accept it first.")


class NothingOwed(BillRefused):
    def __init__(self) -> None:
        super().__init__(
            "No fund owes anything of this bill: it is paid, or nobody has taken it yet. Nothing was recorded. "
            "Look at care nobody has paid."
        )


@transaction.atomic
def pay(*, key: UUID, slip_key: UUID, on: date, by: int, today: date, at: datetime, words: str = "") -> BillPayment:
    """Record that what the funds owe of a bill was paid by the bank.

    :raises BillRefused: when it is not in the books, or nothing of it is owed.
    :raises IncomeRefused: when the date has not come.
    """
    sent = {"pays bill": str(slip_key), "on": on, "words": words}
    posting.lock()
    if known := posting.already_posted({key: sent}):
        return known[key].bill_payment
    check_date(on, today)
    charge = Charge.objects.filter(entry__key=slip_key, owed_to="bill").first()
    if charge is None:
        raise NotInTheBooks
    owed = {fund: minor for fund, minor in owed_by_charge([charge.id])[charge.id].items() if minor > 0}
    if not owed:
        raise NothingOwed
    payment = BillPayment(charge=charge, amount_minor=sum(owed.values()))
    said = Words.objects.filter(entry=charge.entry_id).first() or Words()
    draft = Draft(
        key=key,
        kind=Entry.Kind.BILL_PAID,
        on=on,
        sent=sent,
        legs=tuple(
            Leg(debit=accounts.BILLS_TO_PAY, credit=accounts.BANK, fund_id=fund, amount_minor=minor)
            for fund, minor in sorted(owed.items())
        ),
        bill_payment=payment,
        subject=said.subject,
        line=said.line,
        note=words,
    )
    posting.post(draft, by=by, at=at)
    paid.send(BillPayment, slip_key=slip_key, payment_id=payment.pk, on=on, by=by, at=at)
    return payment
