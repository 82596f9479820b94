"""Judges rows of stays against each other and against the stays that are there already.

Rows are taken by admission, then leaving (a stay still open last), then their place in the file. A row that is the same
as an accepted stay is there already; one that overlaps an accepted stay of its animal is refused.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from clinic.formulas import stays
from clinic.formulas.stays import Span


@dataclass(frozen=True, kw_only=True, slots=True)
class StayRow:
    """One row of the file, its words cleaned; `cells` are as they were written."""

    line: int
    animal_number: str
    species: str
    sex: str
    born_on: date | None
    admitted_on: date
    discharged_on: date | None
    condition: str
    admitted_for: str
    left_to: str
    cells: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Known:
    """A stay that is there: what a row is compared with."""

    admitted_on: date
    discharged_on: date | None
    condition: str
    admitted_for: str
    left_to: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Remark:
    """A sentence about one line of the file."""

    line: int
    cells: tuple[str, ...]
    sentence: str


@dataclass(kw_only=True, slots=True)
class Judgment:
    accepted: list[StayRow] = field(default_factory=list)
    already_there: list[StayRow] = field(default_factory=list)
    refused: list[Remark] = field(default_factory=list)


def judge(*, rows: Iterable[StayRow], known: Mapping[str, Sequence[Known]], species: Mapping[str, str]) -> Judgment:
    """Return which rows are accepted, which are there already, and which are refused with which sentence.

    `known` has the stays that are there, and `species` the animals, both by the animal's number.

    >>> def row(line, admitted, left):
    ...     return StayRow(line=line, animal_number="A1", species="dog", sex="", born_on=None,
    ...                    admitted_on=date(2026, 5, admitted), discharged_on=date(2026, 5, left), condition="",
    ...                    admitted_for="", left_to="", cells=())
    >>> found = judge(rows=[row(4, 6, 9), row(3, 4, 8), row(2, 1, 4), row(5, 1, 4)], known={}, species={})
    >>> [one.line for one in found.accepted], [one.line for one in found.already_there]
    ([2, 3], [5])
    >>> found.refused[0].sentence
    'A1 from 2026-05-06 to 2026-05-09 overlaps its stay from 2026-05-04 to 2026-05-08.'
    """
    found = Judgment()
    there = {number: sorted(all_of_one, key=_order) for number, all_of_one in known.items()}
    kinds = dict(species)

    def refuse(row: StayRow, sentence: str) -> None:
        found.refused.append(Remark(line=row.line, cells=row.cells, sentence=sentence))

    for row in sorted(rows, key=lambda row: (_order(row), row.line)):
        own = there.setdefault(row.animal_number, [])
        stay = Known(
            admitted_on=row.admitted_on,
            discharged_on=row.discharged_on,
            condition=row.condition,
            admitted_for=row.admitted_for,
            left_to=row.left_to,
        )
        if kinds.setdefault(row.animal_number, row.species) != row.species:
            refuse(
                row,
                f"{row.animal_number} is a different animal elsewhere: {kinds[row.animal_number]}, here {row.species}.",
            )
        elif stay in _same_dates(own, stay):
            found.already_there.append(row)
        elif other := _overlapped(own, stay):
            refuse(row, f"{row.animal_number} {_dates(stay)} overlaps its stay {_dates(other)}.")
        else:
            insort(own, stay, key=_order)
            found.accepted.append(row)
    return found


def _order(stay: StayRow | Known) -> tuple[date, date]:
    return stay.admitted_on, stay.discharged_on or date.max


def _same_dates(own: list[Known], stay: Known) -> Iterable[Known]:
    """Look from the end: what was accepted last lies nearest."""
    for other in reversed(own):
        if _order(other) < _order(stay):
            return
        if _order(other) == _order(stay):
            yield other


def _overlapped(own: list[Known], stay: Known) -> Known | None:
    """Accepted stays do not overlap, so from the end on, the first that ends before this one begins ends the search."""
    for other in reversed(own):
        if stays.overlap(one=_span(other), other=_span(stay)):
            return other
        if other.discharged_on is not None and other.discharged_on < stay.admitted_on:
            return None
    return None


def _span(stay: Known) -> Span:
    return Span(admitted_on=stay.admitted_on, discharged_on=stay.discharged_on)


def _dates(stay: StayRow | Known) -> str:
    return f"from {stay.admitted_on}" + (f" to {stay.discharged_on}" if stay.discharged_on else ", still open")
