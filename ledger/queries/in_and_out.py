"""Every way in which money comes in and goes out, each with the sum that waits there."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q, Sum

from ledger.models import Posting
from ledger.models.accounts import CLEARING, REFUNDABLE_ADVANCES


@dataclass(frozen=True, kw_only=True)
class InAndOut:
    """What waits at each door, in minor units."""

    at_giving_sites_minor: int
    owed_on_condition_minor: int


def in_and_out() -> InAndOut:
    standing = _standing()
    return InAndOut(
        at_giving_sites_minor=standing[CLEARING],
        owed_on_condition_minor=-standing[REFUNDABLE_ADVANCES],
    )


def _standing() -> dict[str, int]:
    """Return each account's debits less its credits, over all funds."""
    codes = (CLEARING, REFUNDABLE_ADVANCES)
    rows = Posting.objects.aggregate(
        **{f"{code}_in": Sum("amount_minor", filter=Q(debit=code), default=0) for code in codes},
        **{f"{code}_out": Sum("amount_minor", filter=Q(credit=code), default=0) for code in codes},
    )
    return {code: rows[f"{code}_in"] - rows[f"{code}_out"] for code in codes}
