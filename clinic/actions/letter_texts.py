"""Keeps the wording of a letter; papers that were issued before stay as they are.

Refusal
└── TextRefused   an unknown field, or nothing in it
"""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from clinic.formulas import letter_texts
from clinic.models import LetterText, User
from config.refusal import Refusal


class TextRefused(Refusal):
    field = "text"


@transaction.atomic
def write(*, key: UUID, code: str, text: str, by: User, at: datetime) -> LetterText:
    """Keep a wording; the same form sent twice is one.

    :raises TextRefused: when it holds an unknown field, or nothing.
    """
    if known := LetterText.objects.filter(key=key).first():
        return known
    try:
        kept = letter_texts.checked(code=code, text=text)
    except letter_texts.FieldUnknown as unknown:
        raise TextRefused(str(unknown)) from None
    if not kept:
        raise TextRefused("A letter says something. Nothing was changed. Write at least one sentence.")
    return LetterText.objects.create(key=key, code=code, text=kept, set_by=by, set_at=at)
