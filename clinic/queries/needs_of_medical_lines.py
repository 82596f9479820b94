"""The medical lines that donors are to read of animals on a path and that no vet has approved yet (I3)."""

from __future__ import annotations

from datetime import date

from django.urls import reverse

from clinic.queries.needs import Need, names
from clinic.queries.path_course import waiting


def need_of_medical_lines(*, on: date) -> Need | None:
    """Return what waits for a vet, leading to the first of them; each page leads on to the next."""
    waits = waiting(on=on)
    said = names([f"{course.animal}, as it stands since {_day(course.states[-1].since)}" for course in waits], 3)
    return (
        Need(
            len(waits),
            "line for donors to approve" if len(waits) == 1 else "lines for donors to approve",
            f"{said}. Until then a statement leaves out how it went.",
            "vet",
            "Read and approve",
            reverse("clinic:medical_line", args=[waits[0].path_id]),
            False,
        )
        if waits
        else None
    )


def _day(on: date) -> str:
    return f"{on:%B} {on.day}"
