"""Letters of the last runs that did not arrive, or of which nobody knows, and a bookkeeper decides what is next."""

from __future__ import annotations

from datetime import date, timedelta

from django.urls import reverse

from clinic.models import RunItem
from clinic.queries.needs import Need
from clinic.queries.run_items import ASKS

LAST_RUNS = timedelta(days=60)


def need_of_letters(*, on: date) -> Need | None:
    asked = RunItem.objects.filter(mail__in=ASKS, run__started_on__gt=on - LAST_RUNS)
    runs = list(asked.order_by("run_id").values_list("run_id", flat=True))
    return (
        Need(
            len(runs),
            "letter that did not arrive" if len(runs) == 1 else "letters that did not arrive",
            "By e-mail it came back, was refused, or nobody knows. Mend the address, send it again or by post.",
            "bookkeeper",
            "Look at them",
            reverse("clinic:paper_run", args=[runs[0]]) + "#needs",
            False,
        )
        if runs
        else None
    )
