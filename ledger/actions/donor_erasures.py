"""Erases a donor's identity from the books and leaves every entry, sum and digest as it was.

The name, address, e-mail, note and numbers go; of typed words, those that hold them. What is left says when the name
was erased, and the reason, which names nobody.

Refusal
└── ErasureRefused
    ├── NamelessBefore    their identity was erased before
    ├── GiftsWait         a gift of theirs waits in a file to be recorded
    ├── WhyMissing        who erases says why
    └── ReasonNamesThem   the reason holds the name that is to go
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from uuid import uuid4

from django.db import transaction

from config.days import day_year
from config.refusal import Refusal
from ledger import posting
from ledger.formulas.erasing import ERASED, Person
from ledger.models import (
    Donor,
    DonorAddress,
    DonorErasure,
    DonorMerge,
    DonorNumber,
    DonorsApart,
    GiftFile,
    LeftoverAnswer,
    Words,
)
from ledger.queries.donor_erasures import Erasable
from ledger.queries.file_copies import BlankedCopy


class ErasureRefused(Refusal):
    """Nothing was erased."""


class NamelessBefore(ErasureRefused):
    def __init__(self) -> None:
        super().__init__("This donor’s name was erased before. Nothing was changed, and nothing needs to be.")


class GiftsWait(ErasureRefused):
    def __init__(self, count: int, name: str) -> None:
        gifts = "1 gift of theirs waits" if count == 1 else f"{count} gifts of theirs wait"
        super().__init__(
            f"{gifts} in the file {name}, and once erased nobody could say whose they are. Nothing was erased. "
            "Record them or leave them out first."
        )


class WhyMissing(ErasureRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__("Write in a few words why. Nothing was erased.")


class ReasonNamesThem(ErasureRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__(
            "The reason holds a part of their name, and it is kept. Nothing was erased. Write it without the name, "
            "such as: asked for it by letter."
        )


def check(*, what: Erasable, why: str) -> None:
    """Say whether this donor may be erased for this reason.

    :raises ErasureRefused: when they were before, or the reason is missing or names them.
    """
    if Donor.objects.filter(id__in=what.ids, erased_on__isnull=False).exists():
        raise NamelessBefore
    if not why.strip():
        raise WhyMissing
    if what.who.is_meant_by(why):
        raise ReasonNamesThem


@transaction.atomic
def erase(
    *, what: Erasable, copies: Sequence[BlankedCopy], why: str, on: date, by: int, at: datetime
) -> tuple[DonorErasure, ...]:
    """Erase a donor, with everybody who is read as one with them.

    :raises ErasureRefused: when they were before, a gift waits, or the reason is missing or names them.
    """
    posting.lock()
    check(what=what, why=why)
    if waits := next((copy for copy in copies if copy.waits), None):
        raise GiftsWait(waits.waits, waits.before)
    for copy in copies:
        _put(copy)
    numbers = [line.entry_number for line in what.words]
    Words.objects.filter(entry__in=numbers).update(salt="", subject="", line="", note="")
    _forget(what.ids, what.who, on)
    return tuple(
        DonorErasure.objects.create(
            donor_id=number,
            why=why.strip(),
            on=on,
            by=by,
            at=at,
            words=len(numbers),
            rows=sum(copy.rows for copy in copies),
        )
        for number in what.ids
    )


def _forget(ids: tuple[int, ...], who: Person, on: date) -> None:
    """Blank the one place where identity lives; a new key, since the old one may follow from an e-mail."""
    DonorAddress.objects.filter(donor__in=ids).delete()
    DonorNumber.objects.filter(donor__in=ids).delete()
    DonorsApart.objects.filter(one__in=ids).delete()
    DonorsApart.objects.filter(other__in=ids).delete()
    for merge in DonorMerge.objects.filter(donor__in=ids) | DonorMerge.objects.filter(into__in=ids):
        merge.why = ERASED if who.is_meant_by(merge.why) else merge.why
        merge.undone_why = ERASED if who.is_meant_by(merge.undone_why) else merge.undone_why
        merge.save(update_fields=["why", "undone_why"])
    for answer in LeftoverAnswer.objects.filter(gift__donor__in=ids):
        if who.is_meant_by(answer.why):
            LeftoverAnswer.objects.filter(id=answer.id).update(why=ERASED)
    for donor in Donor.objects.filter(id__in=ids):
        donor.key, donor.name = uuid4(), f"A donor whose name was erased on {day_year(on)}"
        donor.address = donor.email = donor.note = donor.language = ""
        donor.wants, donor.is_unnamed, donor.erased_on = Donor.Wants.NOTHING, False, on
        donor.save()


def _put(copy: BlankedCopy) -> None:
    """Keep a file's copy without the person in the place of the one with them; its first digest stays as a fact."""
    from config import uploads

    kept = uploads.keep_made(copy.content, uploads.CSV)
    GiftFile.objects.filter(id=copy.file_id).update(copy_sha256=kept.sha256, blanked=list(copy.lines), name=copy.name)
