"""Gifts that wait: keeping a row that cannot be recorded, recording it later, or leaving it out by name and reason.

WaitingGiftRefused
├── StillCannotStand   nothing that hindered the row is gone
└── ReasonMissing      what is left out is left out with a reason
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction

from config.refusal import Refusal
from ledger.actions import gift_files
from ledger.models import GiftFile, WaitingGift
from ledger.queries import waiting_gifts
from ledger.queries.judged_gifts import Wrong


class WaitingGiftRefused(Refusal):
    """The row waits as it did."""


class StillCannotStand(WaitingGiftRefused):
    def __init__(self, sentence: str) -> None:
        super().__init__(f"Nothing was recorded, and the row goes on waiting. {sentence}")


class ReasonMissing(WaitingGiftRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__("Write why it is left out. The row goes on waiting.")


@transaction.atomic
def keep(*, file: GiftFile, wrong: Sequence[Wrong], by: int, on: date) -> None:
    """Keep the rows of a file that cannot stand; one that waits already, in whichever file, waits on."""
    known = set(WaitingGift.objects.filter(file__source=file.source).values_list("key", flat=True))
    WaitingGift.objects.bulk_create(
        WaitingGift(key=one.key, file=file, line=one.line, since_on=on, kept_by=by)
        for one in wrong
        if one.key not in known
    )


@transaction.atomic
def record(*, waiting_id: int, late: bool, by: int, today: date, at: datetime) -> None:
    """Record a row that waited: on its own day, or `late`, booked today with the day on which it was received.

    :raises StillCannotStand: when it cannot be so.
    :raises PostingRefused: when the books refuse it.
    """
    row = WaitingGift.objects.select_related("file__source").get(id=waiting_id)
    judged, sentence = waiting_gifts.judged(row=row, today=today, late=late)
    if judged is None:
        raise StillCannotStand(sentence)
    booked_on = today if late and not judged.row.back else None
    said = {"by": by, "today": today, "at": at, "booked_on": booked_on}
    gift_files.record(source=row.file.source, rows=[judged], **said)


@transaction.atomic
def leave_out(*, waiting_id: int, why: str, by: int, today: date) -> WaitingGift:
    """Leave a row out for good, by name and with a reason.

    :raises ReasonMissing: without one.
    """
    if not why.strip():
        raise ReasonMissing
    row = WaitingGift.objects.get(id=waiting_id)
    if row.left_out_on is None:
        row.left_out_on, row.left_out_by, row.left_out_why = today, by, why.strip()[:300]
        row.save()
    return row
