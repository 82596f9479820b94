"""What the shelf needs of a person: a supply counted short, or past its day."""

from __future__ import annotations

from datetime import date

from django.urls import reverse

from clinic.queries.needs import Need, names
from clinic.queries.supplies import expired_supplies, short_supplies
from config.units import with_unit


def needs_of_shelf(*, on: date, may_count: bool) -> tuple[Need | None, ...]:
    return _short(on, may_count=may_count), _expired(on, may_count=may_count)


def _short(on: date, *, may_count: bool) -> Need | None:
    """What was given and is not on the shelf: its rows stay behind at signing off."""
    short = short_supplies(today=on)
    only = reverse("clinic:supply", args=[short[0].supply_id]) if len(short) == 1 else reverse("clinic:supplies")
    said = [f"{with_unit(one.missing, one.unit)} of {one.name.lower()}" for one in short]
    return (
        Need(
            len(short),
            "supply counted short" if len(short) == 1 else "supplies counted short",
            f"Given and not on hand: {names(said, 3)}. Count the shelf, or enter what arrived.",
            "ward, bookkeeper",
            "Count it" if may_count else "Look at it",
            only,
            True,
        )
        if short
        else None
    )


def _expired(on: date, *, may_count: bool) -> Need | None:
    """What is past its day and still on the shelf."""
    past = expired_supplies(today=on)
    return (
        Need(
            len(past),
            "supply expired on the shelf" if len(past) == 1 else "supplies expired on the shelf",
            f"{names([one.name for one in past], 3)}: discard what is past its day, then count what is left.",
            "ward, bookkeeper",
            "Count it" if may_count else "Look at it",
            reverse("clinic:supply", args=[past[0].supply_id]) if len(past) == 1 else reverse("clinic:supplies"),
            False,
        )
        if past
        else None
    )
