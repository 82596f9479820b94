"""Lines that a partner disputes: they are not asked for until somebody answers (F4)."""

from __future__ import annotations

from django.urls import reverse

from clinic.queries import disputes
from clinic.queries.needs import Need, names


def need_of_disputes() -> Need | None:
    """Return what waits for an answer, leading to the oldest of it."""
    waits = disputes.waiting()
    return (
        Need(
            len(waits),
            "disputed line to answer" if len(waits) == 1 else "disputed lines to answer",
            f"{names([f'{one.partner}, for {one.animal}' for one in waits], 3)}. Nobody asks for it until you answer.",
            "manager",
            "Answer it" if len(waits) == 1 else "Answer the oldest",
            reverse("clinic:dispute", args=[waits[0].id]),
            False,
        )
        if waits
        else None
    )
