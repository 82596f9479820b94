"""Donors of whom somebody said that they are two: kept apart when asked, or merged and undone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from config import home
from ledger.models import Donor, DonorMerge, DonorsApart

LATEST = 40


@dataclass(frozen=True, kw_only=True)
class Apart:
    """Two donors, and who said when that they are two; `was_merged` where that undid a merge."""

    one_id: int
    one_name: str
    other_id: int
    other_name: str
    on: date
    by: str
    why: str
    was_merged: bool


def apart() -> tuple[Apart, ...]:
    """Return the pairs that are two by somebody's word and are read as two, the latest first."""
    kept = DonorsApart.objects.select_related("one", "other").order_by("-on", "-id")
    undone = DonorMerge.objects.filter(undone_on__isnull=False).select_related("donor", "into")
    rows = [_row(row.one, row.other, on=row.on, by=row.by) for row in kept if _are_two(row.one, row.other)]
    rows += [
        _row(row.into, row.donor, on=row.undone_on, by=row.undone_by, why=row.undone_why, was_merged=True)
        for row in undone.order_by("-undone_on", "-id")
        if _are_two(row.donor, row.into)
    ]
    return tuple(sorted(rows, key=lambda row: row.on, reverse=True)[:LATEST])


def _are_two(one: Donor, other: Donor) -> bool:
    """They may have been merged since, or nobody knows any more who one of them is."""
    is_same = (one.same_as_id or one.id) == (other.same_as_id or other.id)
    return not is_same and one.erased_on is None and other.erased_on is None


def _row(one: Donor, other: Donor, *, on: date, by: int, why: str = "", was_merged: bool = False) -> Apart:
    return Apart(
        one_id=one.id,
        one_name=one.name,
        other_id=other.id,
        other_name=other.name,
        on=on,
        by=home.person(by),
        why=why,
        was_merged=was_merged,
    )
