"""What care one fund paid for in some days, line by line."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from django.db.models import Q

from ledger.models import Posting
from ledger.models.accounts import CARE
from ledger.queries.donor_trace import PaidLine, paid_lines


def fund_care(*, fund_id: int, from_on: date, to_on: date) -> tuple[PaidLine, ...]:
    """Return the lines of care that a fund paid by book date; a correction counts on the line that it corrects."""
    rows = Posting.objects.filter(fund=fund_id, on__range=(from_on, to_on), charge__isnull=False)
    rows = rows.filter(Q(debit__in=CARE) | Q(credit__in=CARE))
    totals: dict[int, int] = defaultdict(int)
    for charge_id, reverses_id, debit, minor in rows.values_list("charge", "charge__reverses", "debit", "amount_minor"):
        totals[reverses_id or charge_id] += minor if debit in CARE else -minor
    return paid_lines(totals=totals)
