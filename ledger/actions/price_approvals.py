"""Records who outside the practice approved the prices that the funds are asked for (A4).

ApprovalRefused
├── ApproverMissing   nobody is named, or not in which office
└── ApprovalAhead     a day that has not come yet
"""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from config.refusal import Refusal
from ledger import posting
from ledger.models import PriceApproval


class ApprovalRefused(Refusal):
    """The approval was not recorded; nothing was changed."""


class ApproverMissing(ApprovalRefused):
    field = "name"

    def __init__(self) -> None:
        super().__init__(
            "Write who approved the prices and in which office: somebody who does not work for the practice. "
            "Nothing was recorded."
        )


class ApprovalAhead(ApprovalRefused):
    field = "approved_on"

    def __init__(self, on: date) -> None:
        super().__init__(f"{on} has not come yet. Nothing was recorded. Give the day on which it was approved.")


@transaction.atomic
def approve(
    *,
    key: UUID,
    approved_on: date,
    from_on: date,
    name: str,
    office: str,
    by: int,
    today: date,
    at: datetime,
    note: str = "",
) -> PriceApproval:
    """Keep an approval for the prices in force from a day on.

    :raises ApprovalRefused: when nobody is named or the day has not come.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    said = {
        "approved_on": approved_on,
        "from_on": from_on,
        "name": name.strip(),
        "office": office.strip(),
        "note": note.strip(),
    }
    posting.lock()
    if known := PriceApproval.objects.filter(key=key).first():
        if any(getattr(known, field) != value for field, value in said.items()):
            raise posting.KeyUsedBefore
        return known
    if not said["name"] or not said["office"]:
        raise ApproverMissing
    if approved_on > today:
        raise ApprovalAhead(approved_on)
    return PriceApproval.objects.create(key=key, by=by, at=at, **said)
