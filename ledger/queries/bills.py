"""What is still owed of a bill that an outsider sent: by fund, with what was paid (B8)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Q, Sum

from ledger.models import BillPayment, Charge, Posting, Share
from ledger.models.accounts import BILLS_TO_PAY


@dataclass(frozen=True, kw_only=True)
class BillLine:
    """A bill in the books: asked, owed by funds and not yet paid, paid, and what nobody has taken."""

    charge_id: int
    entry_number: int
    asked_minor: int
    owed_minor: int
    paid_minor: int
    nobody_minor: int
    paid_on: date | None
    paid_entry: int | None


def bill_lines(*, slip_keys: Iterable[UUID]) -> dict[UUID, BillLine]:
    """Return the bills that were posted under these keys."""
    charges = {
        charge.id: charge
        for charge in Charge.objects.filter(entry__key__in=list(slip_keys), owed_to="bill").select_related("entry")
    }
    owed = owed_by_charge(charges)
    paid: dict[int, list[BillPayment]] = defaultdict(list)
    payments = BillPayment.objects.filter(charge__in=charges, entry__reversed_by=None).select_related("entry")
    for payment in payments.order_by("id"):
        paid[payment.charge_id].append(payment)
    nobody = dict(
        Share.objects.filter(charge__in=charges, payer=Share.Payer.NOBODY)
        .values_list("charge")
        .annotate(total=Sum("amount_minor"))
    )
    return {
        charge.entry.key: BillLine(
            charge_id=charge.id,
            entry_number=charge.entry_id,
            asked_minor=charge.asked_minor,
            owed_minor=sum(owed[charge.id].values()),
            paid_minor=sum(payment.amount_minor for payment in paid[charge.id]),
            nobody_minor=nobody.get(charge.id, 0),
            paid_on=paid[charge.id][-1].entry.on if paid[charge.id] else None,
            paid_entry=paid[charge.id][-1].entry_id if paid[charge.id] else None,
        )
        for charge in charges.values()
    }


def owed_by_charge(charge_ids: Iterable[int]) -> dict[int, dict[int, int]]:
    """Return what each fund still owes of each bill: posted under its charge, less what was given back and paid."""
    owed: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    of_bills = Posting.objects.filter(Q(debit=BILLS_TO_PAY) | Q(credit=BILLS_TO_PAY))
    ways = ("charge", "charge__reverses", "entry__bill_payment__charge", "back_of__entry__bill_payment__charge")
    for way in ways:
        rows = of_bills.filter(**{f"{way}__in": list(charge_ids)})
        for charge_id, fund_id, credit, minor in rows.values_list(way, "fund", "credit", "amount_minor"):
            owed[charge_id][fund_id] += minor if credit == BILLS_TO_PAY else -minor
    return owed
