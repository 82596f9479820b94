"""Rows of gift files that wait, because their month is closed, their gift is not there, or they cannot be read."""

from __future__ import annotations

from django.urls import reverse

from clinic.queries.needs import Need
from ledger.queries import waiting_gifts


def need_of_waiting_gifts() -> Need | None:
    count = waiting_gifts.count()
    return (
        Need(
            count,
            "gift that waits" if count == 1 else "gifts that wait",
            "Read from a file and not in the books yet. Record it, or leave it out and say why.",
            "bookkeeper",
            "Look at it" if count == 1 else "Look at them",
            reverse("ledger:waiting_gifts"),
            False,
        )
        if count
        else None
    )
