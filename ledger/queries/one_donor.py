"""Who is one donor: two that were merged are read as one, in every page, paper and sum, until the merge is undone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Case, F, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce

from ledger.models import Donor, DonorMerge

UNNAMED = "Somebody who does not want to be named"


@dataclass(frozen=True, kw_only=True)
class Reader:
    """Whoever reads a paper: every id that stands for them, and whether their name was erased."""

    ids: tuple[int, ...]
    is_erased: bool

    @property
    def is_merged(self) -> bool:
        return len(self.ids) > 1


def reader(*, donor_id: int | None) -> Reader:
    """Return who reads a donor's paper; nobody for None."""
    rows = list(_whole(donor_id).values_list("id", "erased_on")) if donor_id is not None else []
    return Reader(ids=tuple(number for number, _ in rows), is_erased=bool(rows) and rows[0][1] is not None)


def whole(*, donor_id: int) -> tuple[int, ...]:
    """Return every id that stands for this donor, the one under which they are read first; none for nobody."""
    return tuple(_whole(donor_id).values_list("id", flat=True))


def _whole(donor_id: int) -> QuerySet[Donor]:
    mine = Donor.objects.filter(id=donor_id).annotate(one=standing("id")).values("one")
    found = Donor.objects.filter(Q(id__in=mine) | Q(same_as__in=mine))
    return found.order_by(F("same_as").asc(nulls_first=True), "id")


def kin(*, donor_id: int) -> tuple[int, ...]:
    """Return every id that was ever read as one with this donor, though it may be undone since."""
    pairs = list(DonorMerge.objects.values_list("donor", "into"))
    found, grown = {donor_id}, True
    while grown:
        more = {number for pair in pairs if found & set(pair) for number in pair} - found
        found |= more
        grown = bool(more)
    return tuple(sorted(found))


def parted() -> frozenset[int]:
    """Return the ids of those who were read as one with somebody and are not any more."""
    pairs = DonorMerge.objects.filter(undone_on__isnull=False).values_list("donor", "into")
    return frozenset(number for pair in pairs for one in pair for number in kin(donor_id=one))


def read_as(*, ids: Iterable[int]) -> dict[int, int]:
    """Return by id the id under which some donors are read."""
    return dict(Donor.objects.filter(id__in=list(ids)).values_list("id", standing("id")))


def standing(path: str = "donor") -> Coalesce:
    """Return the id under which a donor is read, for a query in which `path` leads to them ("id": it is theirs)."""
    return Coalesce("same_as", "id") if path == "id" else Coalesce(f"{path}__same_as", path)


def told(path: str = "donor") -> Coalesce:
    """Return the name that a page about something else may say of a donor; nothing where nobody is known.

    Whoever does not want to be named stands by name on their own page and papers and in the list of donors alone.
    """
    return Coalesce(_told(f"{path}__same_as"), _told(path))


def _told(path: str) -> Case:
    return Case(When(**{f"{path}__is_unnamed": True}, then=Value(UNNAMED)), default=F(f"{path}__name"))
