"""Judges a file of stays against what the clinic has, and reports it; nothing is written here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic.forms.import_stays import StaysFile
from clinic.formulas import import_stays as formula
from clinic.formulas import stays
from clinic.formulas.import_stays import Judgment, Known, Remark, StayRow
from clinic.models import Animal, Stay

AT_ONCE = 500


@dataclass(frozen=True, kw_only=True)
class JudgedFile:
    """What would become of each row: accepted, there already, or refused with its sentence."""

    file: StaysFile
    judgment: Judgment
    refused: tuple[Remark, ...]  # by line: those that cannot be read and those that overlap


def judge(*, file: StaysFile) -> JudgedFile:
    """Compare every row with the rows before it and with the stays that are there."""
    known: dict[str, list[Known]] = defaultdict(list)
    species: dict[str, str] = {}
    for numbers in pages(sorted({row.animal_number for row in file.rows})):
        species.update(Animal.objects.filter(number__in=numbers).values_list("number", "species"))
        there = Stay.objects.filter(animal__number__in=numbers).values_list(
            "animal__number", "admitted_on", "discharged_on", "condition", "admitted_for", "left_to"
        )
        for number, admitted, discharged, condition, admitted_for, left_to in there:
            known[number].append(
                Known(
                    admitted_on=admitted,
                    discharged_on=discharged,
                    condition=condition,
                    admitted_for=admitted_for,
                    left_to=left_to,
                )
            )
    judgment = formula.judge(rows=file.rows, known=known, species=species)
    refused = sorted([*file.wrong, *judgment.refused], key=lambda remark: remark.line)
    return JudgedFile(file=file, judgment=judgment, refused=tuple(refused))


def pages(of: Sequence[Any]) -> Iterator[Sequence[Any]]:
    """Give a long list in pieces that a database takes at once."""
    for start in range(0, len(of), AT_ONCE):
        yield of[start : start + AT_ONCE]


def report(*, judged: JudgedFile, today: date) -> dict[str, Any]:
    """Return the counts of a file, and the nights of its good rows by year up to today."""
    good = [*judged.judgment.accepted, *judged.judgment.already_there]
    return {
        "rows": judged.file.count,
        "animals": len({row.animal_number for row in judged.file.rows}),
        "accepted": len(judged.judgment.accepted),
        "already_there": len(judged.judgment.already_there),
        "refused": len(judged.refused),
        "warnings": len(judged.file.warnings),
        "nights": {str(year): count for year, count in _nights(good, today).items()},
    }


def _nights(rows: list[StayRow], today: date) -> dict[int, int]:
    spans = (stays.Span(admitted_on=row.admitted_on, discharged_on=row.discharged_on) for row in rows)
    return stays.nights_by_year(spans=spans, last=today)
