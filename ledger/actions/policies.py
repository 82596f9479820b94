"""Sets a policy of the house, from a day on.

PolicyRefused
├── PolicyBackdated     days that have passed keep the policy that they had
├── ReasonMissing       a policy says why
└── AnswerRefused       a value that is no answer to the policy's question
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from config.refusal import Refusal
from ledger import posting
from ledger.formulas import policies as catalog
from ledger.models import Policy


class PolicyRefused(Refusal):
    """The policy was not set; nothing was changed."""


class PolicyBackdated(PolicyRefused):
    field = "from_on"

    def __init__(self, from_on: date) -> None:
        super().__init__(
            f"{from_on} has passed, and days that have passed keep the policy that they had. Nothing was changed. "
            "Choose today or a day to come."
        )


class ReasonMissing(PolicyRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__("Write why, in a few words: it is printed beside the policy. Nothing was changed.")


class AnswerRefused(PolicyRefused):
    field = "value"


@transaction.atomic
def set_policy(
    *, key: UUID, code: str, value: catalog.Value, from_on: date, why: str, by: int, today: date, at: datetime
) -> Policy:
    """Set a policy from a day on; a later row for the same day takes its place.

    :raises PolicyRefused: when the day has passed, the reason is missing or the value is no answer.
    :raises PolicyUnknown: when there is no such policy.
    :raises KeyUsedBefore: when the key came before with other content.
    """
    posting.lock()
    try:
        text = catalog.write(code, value)
    except catalog.AnswerImpossible as impossible:
        raise AnswerRefused(str(impossible)) from None
    if known := Policy.objects.filter(key=key).first():
        if (known.code, known.value, known.from_on, known.why) != (code, text, from_on, why.strip()):
            raise posting.KeyUsedBefore
        return known
    if from_on < today:
        raise PolicyBackdated(from_on)
    if not why.strip():
        raise ReasonMissing
    row = Policy(key=key, code=code, value=text, from_on=from_on, set_on=today, by=by, at=at, why=why.strip())
    row.save(force_insert=True)
    return row
