"""Says that two donors are one person, or that they are two, and takes either back.

Nothing of a donor or of a gift is changed by it: a row says who is whom, and every page follows it. What was recorded
under either id stays under that id, so that undoing a merge leaves both as they would be without it.

Refusal
└── MergeRefused
    ├── SameAlready    they are read as one donor already
    ├── ErasedBefore   the identity of one of them was erased
    ├── WhyMissing     who merges or undoes says why
    └── UndoneBefore   it was undone before
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from config.refusal import Refusal
from ledger import posting
from ledger.models import Donor, DonorMerge, DonorsApart


class MergeRefused(Refusal):
    """Nothing was changed."""


class SameAlready(MergeRefused):
    def __init__(self) -> None:
        super().__init__("These two are one donor already. Nothing was changed.")


class ErasedBefore(MergeRefused):
    def __init__(self) -> None:
        super().__init__(
            "The name of one of them was erased, so nobody can say who they are. Nothing was changed, and nothing "
            "needs to be."
        )


class WhyMissing(MergeRefused):
    field = "why"

    def __init__(self) -> None:
        super().__init__("Write in a few words how you know. Nothing was changed.")


class UndoneBefore(MergeRefused):
    def __init__(self) -> None:
        super().__init__("This was undone before. Nothing was changed.")


@transaction.atomic
def merge(*, key: UUID, donor_id: int, into_id: int, why: str, by: int, on: date, at: datetime) -> DonorMerge:
    """Read one donor as another from now on; the same key gives back the merge that it made.

    :raises MergeRefused: when they are one already, one was erased, or nobody says why.
    """
    posting.lock()
    if known := DonorMerge.objects.filter(key=key).first():
        return known
    donor, into = (_standing(number) for number in (donor_id, into_id))
    if donor == into:
        raise SameAlready
    if donor.erased_on or into.erased_on:
        raise ErasedBefore
    if not why.strip():
        raise WhyMissing
    made = DonorMerge.objects.create(key=key, donor=donor, into=into, why=why.strip(), on=on, by=by, at=at)
    _follow()
    return made


@transaction.atomic
def undo(*, merge_id: int, why: str, by: int, on: date) -> DonorMerge:
    """Read two merged donors as two again, each as they were.

    :raises MergeRefused: when it was undone before, their identity was erased, or nobody says why.
    """
    posting.lock()
    made = DonorMerge.objects.select_related("donor", "into").get(id=merge_id)
    if made.undone_on:
        raise UndoneBefore
    if made.donor.erased_on or made.into.erased_on:
        raise ErasedBefore
    if not why.strip():
        raise WhyMissing
    made.undone_on, made.undone_by, made.undone_why = on, by, why.strip()
    made.save(update_fields=["undone_on", "undone_by", "undone_why"])
    _follow()
    return made


@transaction.atomic
def keep_apart(*, donor_id: int, other_id: int, by: int, on: date) -> DonorsApart:
    """Say that two who look alike are two, so that nobody is asked again."""
    one, other = sorted((donor_id, other_id))
    kept, _ = DonorsApart.objects.get_or_create(one_id=one, other_id=other, defaults={"by": by, "on": on})
    return kept


@transaction.atomic
def ask_again(*, donor_id: int, other_id: int) -> int:
    """Take back that two are two: where they look alike they are asked about again. Return how many words went."""
    one, other = sorted((donor_id, other_id))
    return DonorsApart.objects.filter(one_id=one, other_id=other).delete()[0]


def _standing(donor_id: int) -> Donor:
    donor = Donor.objects.select_related("same_as").get(id=donor_id)
    return donor.same_as or donor


def _follow() -> None:
    """Write at each donor whom they are read as now: the end of the merges that stand."""
    into = dict(DonorMerge.objects.filter(undone_on=None).values_list("donor", "into"))

    def end(number: int) -> int:
        while number in into:
            number = into[number]
        return number

    for donor in Donor.objects.filter(id__in=into) | Donor.objects.filter(same_as__isnull=False):
        same_as = end(donor.id) if donor.id in into else None
        if donor.same_as_id != same_as:
            Donor.objects.filter(id=donor.id).update(same_as=same_as)
