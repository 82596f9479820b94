"""The wording of a letter in force, and what a letter looks like with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max

from clinic.formulas import letter_texts
from clinic.formulas.letter_texts import Letter
from clinic.models import LetterText
from config import home


@dataclass(frozen=True, kw_only=True)
class LetterPage:
    letter: Letter
    text: str
    preview: tuple[str, ...]
    set_by: str
    set_at: datetime | None


def letters() -> tuple[Letter, ...]:
    """Return every text that a manager may write."""
    return tuple(letter_texts.CATALOG.values())


def wordings() -> dict[str, str]:
    """Return the wording in force of every letter, by its code."""
    last = LetterText.objects.values("code").annotate(last=Max("id")).values("last")
    written = dict(LetterText.objects.filter(id__in=last).values_list("code", "text"))
    return {code: written.get(code) or letter.default for code, letter in letter_texts.CATALOG.items()}


def letter_page(*, code: str, draft: str = "") -> LetterPage | None:
    """Return a letter with its wording and a preview of it, or of a draft; None where there is no such letter.

    :raises FieldUnknown: when the draft holds an unknown field.
    """
    letter = letter_texts.CATALOG.get(code)
    if letter is None:
        return None
    last = LetterText.objects.filter(code=code).order_by("-id").first()
    wording = last.text if last else letter.default
    return LetterPage(
        letter=letter,
        text=wording,
        preview=letter_texts.filled(code=code, text=draft or wording, values=letter.fields),
        set_by=home.person(last.set_by_id) if last else "",
        set_at=last.set_at if last else None,
    )
