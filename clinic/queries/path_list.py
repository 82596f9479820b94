"""The open treatment paths, each with where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import PathStep, TreatmentPath
from clinic.queries.path_lines import state_words


@dataclass(frozen=True, kw_only=True)
class PathLine:
    id: int
    animal: str
    number: str
    species: str
    name: str
    state: str
    parted_on: date | None
    next_words: str
    done: int
    of: int


def path_list() -> tuple[PathLine, ...]:
    """Return every open path with where it stands, by the animal's name."""
    found = TreatmentPath.objects.filter(ended_on__isnull=True).select_related("animal")
    return tuple(
        _line(path) for path in found.prefetch_related("steps__service", "decisions").order_by("animal__name", "pk")
    )


def _line(path: TreatmentPath) -> PathLine:
    operations = sorted(
        (step for step in path.steps.all() if step.part == PathStep.Part.OPERATION), key=lambda step: step.position
    )
    done = [step for step in operations if step.result]
    healed = any(step.result == PathStep.Result.HEALED for step in done)
    ahead = [] if healed else [step for step in operations if not step.result]
    last = max(path.decisions.all(), key=lambda one: (one.decided_on, one.pk), default=None)
    return PathLine(
        id=path.pk,
        animal=path.animal.name or path.animal.number,
        number=path.animal.number,
        species=path.animal.species,
        name=path.name,
        state=state_words(path, last.choice if last else "", healed),
        parted_on=path.parted_on,
        next_words=ahead[0].service.name if ahead else "",
        done=len(done),
        of=len(operations),
    )
