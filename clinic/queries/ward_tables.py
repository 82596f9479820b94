"""The ward in numbers as tables for a file; the census and where animals went stand in the board's file too."""

from __future__ import annotations

from clinic.queries.length_of_stay import AFTER, StaysOf
from clinic.queries.ward_in_numbers import WardInNumbers
from config.exports import Sheet
from ledger.queries.report_tables import TOGETHER


def ward_tables(*, numbers: WardInNumbers) -> tuple[Sheet, ...]:
    """Return what the page shows; a length that no stay was long enough to show is empty."""
    return (census(numbers), left_to(numbers), _lengths(numbers), _long_stays(numbers), _minutes(numbers))


def census(numbers: WardInNumbers) -> Sheet:
    lines = (*numbers.census, numbers.together)
    rows = tuple((line.species, line.start, line.came, line.left, line.end) for line in lines)
    return Sheet(title="Animals in and out", heads=("Species", "At the start", "Came", "Left", "At the end"), rows=rows)


def left_to(numbers: WardInNumbers) -> Sheet:
    return Sheet(title="Where they went", heads=("Where", "Animals"), rows=numbers.left_to)


def _lengths(numbers: WardInNumbers) -> Sheet:
    def row(stays: StaysOf) -> tuple[object, ...]:
        return (stays.species, stays.count, stays.open, stays.median_days, *stays.in_100)

    heads = ("Species", "Stays", "Open", "Half have left by day", *(f"Of 100, after {days} days" for days in AFTER))
    return Sheet(title="How long they stay", heads=heads, rows=tuple(row(stays) for stays in numbers.lengths.species))


def _long_stays(numbers: WardInNumbers) -> Sheet:
    heads = ("Animal", "Species", "Partner", "Since", "Days", "9 of 10 have left by day")
    rows = tuple(
        (stay.name, stay.species, stay.partner, stay.admitted_on, stay.days, stay.usual_days)
        for stay in numbers.long_stays
    )
    return Sheet(title="Here longer than most", heads=heads, rows=rows)


def _minutes(numbers: WardInNumbers) -> Sheet:
    lines = tuple((line.words, line.count, line.minutes) for line in numbers.minutes)
    rows = (*lines, (TOGETHER, None, numbers.all_minutes))
    return Sheet(title="Minutes that a day needs", heads=("For", "Times", "Minutes"), rows=rows)
