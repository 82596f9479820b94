"""Reads one row of a file of stays: its nine words cleaned, or one sentence saying what is wrong."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from clinic.forms import json_text
from clinic.formulas.import_stays import StayRow

COLUMNS = (
    "animal_id", "animal_type", "sex", "dob", "intake_date", "intake_condition", "intake_type", "outcome_date",
    "outcome_type",
)  # fmt: skip
SEXES = {
    "male": "male",
    "female": "female",
    "neutered": "male neutered",
    "spayed": "female spayed",
    "unknown": "unknown",
    "": "unknown",
}
LONGEST = {"animal_id": 24, "animal_type": 40, "intake_condition": 60, "intake_type": 120, "outcome_type": 60}
EARLIEST = date(1900, 1, 1)
WRITTEN_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


class BadLine(ValueError):
    """The row cannot be read; the message says why."""


def read(*, line: int, cells: Sequence[str], today: date) -> tuple[StayRow, str]:
    """Return the row, and the sentence about a birth date that was set aside, if it was.

    :raises BadLine: when a cell is empty, too long, no date, in the future, or the dates are the wrong way round.
    """
    cell = dict(zip(COLUMNS, (text.strip() for text in cells), strict=True))
    for name, longest in LONGEST.items():
        if len(cell[name]) > longest or not cell[name].isprintable():
            raise BadLine(f"{name} is not a word or two: {json_text.short(cell[name])}.")
    for name in ("animal_id", "animal_type"):
        if not cell[name]:
            raise BadLine(f"{name} is empty.")
    if cell["sex"].lower() not in SEXES:
        raise BadLine(f"sex is none that is known: {json_text.short(cell['sex'])}.")
    admitted = _date("intake_date", cell["intake_date"], today)
    discharged = _date("outcome_date", cell["outcome_date"], today) if cell["outcome_date"] else None
    if discharged is not None and discharged < admitted:
        raise BadLine(f"It leaves on {discharged}, before it came on {admitted}.")
    born, warning = _birth(cell["animal_id"], cell["dob"], admitted)
    row = StayRow(
        line=line,
        animal_number=cell["animal_id"],
        species=cell["animal_type"],
        sex=SEXES[cell["sex"].lower()],
        born_on=born,
        admitted_on=admitted,
        discharged_on=discharged,
        condition=cell["intake_condition"],
        admitted_for=cell["intake_type"],
        left_to=cell["outcome_type"],
        cells=tuple(cells),
    )
    return row, warning


def _date(name: str, text: str, today: date) -> date:
    day = _day(text)
    if day is None or day < EARLIEST:
        raise BadLine(f"{name} is no date such as 2017-01-31: {json_text.short(text) or 'empty'}.")
    if day > today:
        raise BadLine(f"{name} lies in the future: {day}.")
    return day


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if WRITTEN_DATE.fullmatch(text) else None
    except ValueError:
        return None


def _birth(number: str, text: str, admitted: date) -> tuple[date | None, str]:
    """An impossible birth date is set aside, so that the stay is not lost for it."""
    if not text:
        return None, ""
    born = _day(text)
    if born is None:
        return None, f"{number}: the birth date {json_text.short(text)} is no date and was set aside."
    if born > admitted:
        return None, f"{number}: the birth date {born} lies after its admission on {admitted} and was set aside."
    return born, ""
