"""Keeps a vet's approval of the medical line that donors read of a path (I3); papers issued before stay as they are.

Refusal
└── LineRefused
    ├── NotAVet       the medical line is a vet's
    ├── MovedOn       something has happened on the path since the page was shown
    ├── WordsRefused  an amount, a promise, "saved", a death told loudly, or nothing at all
    └── KeyUsedAgain  the key belongs to another line
"""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from clinic.formulas import medical_lines as formulas
from clinic.models import MedicalLine, TreatmentPath, User
from clinic.queries import path_course
from config.refusal import Refusal
from config.roles import Role


class LineRefused(Refusal):
    """Nothing was approved."""


class NotAVet(LineRefused):
    pass


class MovedOn(LineRefused):
    pass


class KeyUsedAgain(LineRefused):
    pass


class WordsRefused(LineRefused):
    field = "words"


@transaction.atomic
def approve(*, key: UUID, path: TreatmentPath, state: str, words: str, by: User, at: datetime) -> MedicalLine:
    """Keep the words that donors read of a path in one of its states; the same form sent twice is one.

    :raises NotAVet: when `by` is no vet.
    :raises MovedOn: when the path was never in that state, as its rows stand now.
    :raises WordsRefused: when the words are not fit for donors.
    :raises KeyUsedAgain: when the key belongs to another line.
    """
    if not by.may(Role.VET):
        raise NotAVet("The medical line is approved by a vet. Nothing was changed.")
    try:
        kept = formulas.checked(words)
    except formulas.WordsUnfit as unfit:
        raise WordsRefused(str(unfit)) from None
    if not kept:
        raise WordsRefused("Write what was done and whether it held, in a sentence. Nothing was approved.")
    if known := MedicalLine.objects.filter(key=key).first():
        if (known.path_id, known.state, known.words) == (path.pk, state, kept):
            return known
        raise KeyUsedAgain("This form was sent before with other words. Open the page again; nothing was approved.")
    TreatmentPath.objects.select_for_update().get(pk=path.pk)
    course = path_course.course(path=path)
    if course is None or state not in {one.code for one in course.states}:
        raise MovedOn("Something has happened on this path since the page was shown. Read it again; nothing is lost.")
    return MedicalLine.objects.create(key=key, path=path, state=state, words=kept, approved_by=by, approved_at=at)
