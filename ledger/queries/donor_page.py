"""What is known of one donor beside who they are: earlier addresses, numbers at giving sites, who is one with them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from config import home
from ledger.models import Donor, DonorAddress, DonorErasure, DonorMerge, DonorNumber
from ledger.queries import one_donor


@dataclass(frozen=True, kw_only=True)
class EarlierAddress:
    address: str
    email: str
    until_on: date


@dataclass(frozen=True, kw_only=True)
class NumberLine:
    source: str
    number: str


@dataclass(frozen=True, kw_only=True)
class MergeLine:
    """Who is read as this donor: the name they came under, and who said so."""

    merge_id: int
    donor_id: int
    name: str
    into_name: str
    why: str
    on: date
    by: str
    undone_on: date | None
    undone_by: str
    undone_why: str


@dataclass(frozen=True, kw_only=True)
class Erasure:
    why: str
    on: date
    by: str
    words: int
    rows: int


@dataclass(frozen=True, kw_only=True)
class DonorFacts:
    earlier: tuple[EarlierAddress, ...]
    numbers: tuple[NumberLine, ...]
    merges: tuple[MergeLine, ...]
    erasure: Erasure | None

    @property
    def standing(self) -> tuple[MergeLine, ...]:
        return tuple(line for line in self.merges if line.undone_on is None)


def donor_facts(*, donor_id: int) -> DonorFacts:
    """Return what is known of a donor, of everybody who is read as one with them."""
    ids = one_donor.whole(donor_id=donor_id)
    earlier = DonorAddress.objects.filter(donor__in=ids).order_by("-until_on", "-id")
    numbers = DonorNumber.objects.filter(donor__in=ids).select_related("source").order_by("source__name", "number")
    erasure = DonorErasure.objects.filter(donor__in=ids).first()
    return DonorFacts(
        earlier=tuple(EarlierAddress(address=row.address, email=row.email, until_on=row.until_on) for row in earlier),
        numbers=tuple(NumberLine(source=row.source.name, number=row.number) for row in numbers),
        merges=_merges(Q(donor__in=ids) | Q(into__in=ids)),
        erasure=_erasure(erasure) if erasure else None,
    )


def merge(*, merge_id: int) -> MergeLine | None:
    return next(iter(_merges(Q(id=merge_id))), None)


def merged_into(*, donor_id: int) -> int | None:
    """Return whom a donor is read as, or None where they stand by themselves."""
    return Donor.objects.filter(id=donor_id).values_list("same_as", flat=True).first()


def _merges(which: Q) -> tuple[MergeLine, ...]:
    return tuple(
        MergeLine(
            merge_id=row.id,
            donor_id=row.into.same_as_id or row.into_id,
            name=row.donor.name,
            into_name=row.into.name,
            why=row.why,
            on=row.on,
            by=home.person(row.by),
            undone_on=row.undone_on,
            undone_by=home.person(row.undone_by) if row.undone_by else "",
            undone_why=row.undone_why,
        )
        for row in DonorMerge.objects.filter(which).select_related("donor", "into").order_by("id")
    )


def _erasure(row: DonorErasure) -> Erasure:
    return Erasure(why=row.why, on=row.on, by=home.person(row.by), words=row.words, rows=row.rows)
