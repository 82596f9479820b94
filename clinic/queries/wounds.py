"""What the readings of an animal's wound say: the area by day, the advance of its edge, and when it may close."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from clinic.forms.observed import WoundSaid
from clinic.formulas import healing
from clinic.formulas.healing import Closing, Reading
from clinic.models import Animal, WoundReading
from config import charts
from config.charts.drawing import MINUS
from config.days import day_year

SQUARE_CM = 100  # square millimeters


@dataclass(frozen=True, kw_only=True)
class ReadingLine:
    id: int
    on: date
    size: str
    area: str  # square centimeters
    advance: str  # millimeters a day since the reading before; empty where it cannot be said
    by: str


@dataclass(frozen=True, kw_only=True)
class WoundStory:
    """The newest series of readings. `sentence` says all that can be said, and where nothing can be said, why."""

    wound: str
    method: str
    lines: tuple[ReadingLine, ...]
    area: str
    first_on: date
    last_on: date
    percent: str  # smaller than at the first reading; empty for one reading
    has_grown: bool
    sentence: str
    moved_on: str  # why the closing day is later than it was, though the wound is smaller
    closing: Closing | None
    slow: str  # smaller in percent at four weeks, where that is a warning
    is_axes: bool
    chart: charts.Chart | None
    others: tuple[str, ...]  # other wounds that were read


def wound_story(*, animal: Animal, on: date) -> WoundStory | None:
    """Return what the animal's newest series of readings says, or None where no wound was read."""
    rows = WoundReading.objects.filter(observation__animal=animal, observation__on__lte=on, taken_back_at=None)
    found = list(rows.select_related("observation__recorded_by").order_by("observation__on", "pk"))
    if not found:
        return None
    wound = found[-1].wound
    series = [row for row in found if row.wound == wound]
    readings = [said(row).reading(on=row.observation.on) for row in series]
    try:
        healing.check(readings=readings)
    except healing.WoundRefused as wrong:
        return _story(series, readings, str(wrong), None, found)
    return _story(series, readings, "", healing.closing(readings=readings), found)


def said(row: WoundReading) -> WoundSaid:
    return WoundSaid(
        wound=row.wound,
        method=row.method,
        length_mm=row.length_mm,
        width_mm=row.width_mm,
        area_mm2=row.area_mm2,
        perimeter_mm=row.perimeter_mm,
    )


def _story(
    series: Sequence[WoundReading],
    readings: Sequence[Reading],
    obstacle: str,
    closing: Closing | None,
    found: Sequence[WoundReading],
) -> WoundStory:
    last, is_series = readings[-1], not obstacle and len(readings) > 1
    percent = healing.reduction(first=readings[0].area, last=last.area) if is_series else None
    slow = None if obstacle else healing.slow_at_four_weeks(readings=readings)
    return WoundStory(
        wound=series[-1].wound,
        method=series[-1].get_method_display(),
        lines=tuple(_lines(series, readings, comparable=not obstacle)),
        area=square_cm(last.area),
        first_on=readings[0].on,
        last_on=last.on,
        percent="" if percent is None else f"{abs(percent):.0f}",
        has_grown=percent is not None and percent < 0,
        sentence=obstacle or _sentence(readings, closing),
        moved_on="" if obstacle else _moved_on(readings),
        closing=closing,
        slow="" if slow is None else f"{max(slow, 0):.0f}",
        is_axes=series[-1].method == WoundReading.Method.AXES,
        chart=_chart(series, readings, closing) if is_series else None,
        others=tuple(dict.fromkeys(row.wound for row in found if row.wound != series[-1].wound)),
    )


def _sentence(readings: Sequence[Reading], closing: Closing | None) -> str:
    if len(readings) == 1:
        return "One reading says how large it is; the advance of its edge needs a second one."
    pace = healing.advance(before=readings[0], after=readings[-1])
    if pace is None:
        return "Without an outline the advance of the edge is not told."
    if pace <= 0:
        return "It has grown since the first reading, so no closing day is told."
    so_far = f"Its edge advances {pace:.2f} mm a day"
    if closing is None and len(readings) < healing.ENOUGH:
        return f"{so_far}; a closing day is told from {healing.ENOUGH} readings on."
    if closing is None:
        return f"{so_far} over all, but it has not advanced lately, so no closing day is told."
    if closing.latest is None:
        return f"{so_far}; at the pace of the last five readings it closes about {day_year(closing.on)}, " + (
            f"at the earliest {day_year(closing.earliest)}; at its slowest it did not advance at all."
        )
    return f"{so_far}; at the pace of the last five readings it closes about {day_year(closing.on)}, " + (
        f"between {day_year(closing.earliest)} and {day_year(closing.latest)}."
    )


def _moved_on(readings: Sequence[Reading]) -> str:
    gone = healing.later_though_smaller(readings=readings)
    if gone is None:
        return ""
    return (
        "The closing day is later than before, though the wound is smaller: it advanced faster just after "
        f"{gone.on:%B} {gone.on.day}, and that is no longer among the last five readings."
    )


def square_cm(area: float) -> str:
    """
    >>> square_cm(1533.2)
    '15.3'
    """
    return f"{area / SQUARE_CM:.1f}"


def _lines(series: Sequence[WoundReading], readings: Sequence[Reading], *, comparable: bool):
    for number, (row, reading) in enumerate(zip(series, readings, strict=True)):
        pace = healing.advance(before=readings[number - 1], after=reading) if number and comparable else None
        yield ReadingLine(
            id=row.pk,
            on=reading.on,
            size=said(row).words,
            area=square_cm(reading.area),
            advance="" if pace is None else f"{MINUS if pace < 0 else ''}{abs(pace):.2f}",
            by=row.observation.recorded_by.name,
        )


def _chart(series: Sequence[WoundReading], readings: Sequence[Reading], closing: Closing | None) -> charts.Chart:
    return charts.shrinking(
        name="wound-area",
        title="Wound area by reading",
        desc=f"From {square_cm(readings[0].area)} to {square_cm(readings[-1].area)} square centimeters"
        + (f"; it may close about {day_year(closing.on)}." if closing else "."),
        points=[(reading.on, round(reading.area)) for reading in readings],
        closing=charts.Closing(on=closing.on, earliest=closing.earliest, latest=closing.latest) if closing else None,
        caption=f"{series[-1].get_method_display().capitalize()}, one method throughout."
        + (" Shaded: from the fastest to the slowest pace of the last five readings." if closing else ""),
    )
