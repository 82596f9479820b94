"""The paths on which a review point is reached and nobody has decided since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import House, ReviewPoint, TreatmentPath
from clinic.queries import path_plan, path_so_far, paths
from ledger.queries import holder


@dataclass(frozen=True, kw_only=True)
class DueDecision:
    path_id: int
    animal: str
    words: str  # "decision due for 4 days, on October 10, 2026"


def due_decisions(*, on: date, house: House) -> tuple[DueDecision, ...]:
    """Return the open paths with a review point that is due, in the order of their animals' names."""
    watched = ReviewPoint.objects.filter(dropped_at=None).values("path__animal")
    found = TreatmentPath.objects.filter(ended_on=None, animal__in=watched).select_related("animal__partner")
    books = holder.holder()
    due = []
    for path in found.order_by("animal__name", "pk") if books else ():
        priced = path_plan.priced(path=path, on=on, currency=books.currency)
        decisions = paths.decisions_of(path)
        far = path_so_far.so_far(priced=priced, decisions=decisions, on=on, house=house)
        lines = paths.reviews(priced=priced, decisions=decisions, far=far, on=on)
        reached = [line for line in lines if line.state == "due"]
        if reached:
            words = "; ".join(f"{line.due}, {line.words}" for line in reached)
            due.append(DueDecision(path_id=path.pk, animal=path.animal.name or path.animal.number, words=words))
    return tuple(due)
