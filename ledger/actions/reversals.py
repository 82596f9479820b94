"""Takes back an entry that was typed wrong, as long as its money has paid for nothing.

PostingRefused
└── NotTakenBackHere   care is corrected on the animal's page, line by line
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from ledger import posting
from ledger.models import Entry
from ledger.posting import PostingRefused
from ledger.queries.entry_story import TYPED


class NotTakenBackHere(PostingRefused):
    def __init__(self) -> None:
        super().__init__("Only what was typed here is taken back here. Care is corrected on the animal's page.")


@transaction.atomic
def take_back(*, key: UUID, number: int, by: int, today: date, at: datetime, why: str) -> Entry:
    """Reverse a gift, goods, an opening balance or a payout that was typed wrong, dated today.

    :raises MoneySpent: when its money has paid for something.
    :raises ReversedAlready: when it was taken back before.
    :raises NotTakenBackHere: when it is another kind of entry.
    """
    entry = Entry.objects.get(id=number)
    if entry.kind not in TYPED:
        raise NotTakenBackHere
    return posting.reverse(entry=entry, key=key, on=today, by=by, at=at, why=why)
