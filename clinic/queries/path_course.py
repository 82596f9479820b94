"""What happened on a path and the plans before it, and the medical lines that a vet approved for its states (I3)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from clinic.formulas import medical_lines as formulas
from clinic.formulas.medical_lines import Happened, PathState
from clinic.models import MedicalLine, PathDecision, PathEvent, PathStep, TreatmentPath

Ending = TreatmentPath.Ending
NOT_ENDED = "It has not ended yet"
ENDED = {
    Ending.HEALED: "It ended healed",
    Ending.PARTLY: "It ended partly healed",
    Ending.CONVERTED: "It ended with the other way",
    Ending.DIED: "It ended when the animal died",
    Ending.EUTHANIZED: "It ended when the animal died",
    Ending.WITHDRAWN: "It ended when its owner took the animal back",
    Ending.MOVED: "It ended when the animal moved away",
    Ending.LOST: "How it ended we do not know",
}
TURNS = (PathDecision.Choice.CONVERT, PathDecision.Choice.END)


@dataclass(frozen=True, kw_only=True)
class Course:
    """What happened on one path and on the plans that it replaced, and the lines approved for its states."""

    path_id: int  # the plan in force
    paths: tuple[int, ...]  # it and those that it replaced
    animal: str
    parted_on: date
    ended_on: date | None
    happened: tuple[Happened, ...]
    lines: Mapping[str, MedicalLine]  # by the state for which they were approved

    def line(self, *, on: date) -> MedicalLine | None:
        """Return the line approved for how the path stood on a day."""
        return self.lines.get(formulas.state(parted_on=self.parted_on, happened=self.happened, on=on).code)

    @property
    def states(self) -> tuple[PathState, ...]:
        return formulas.states(parted_on=self.parted_on, happened=self.happened)

    @property
    def waits(self) -> bool:
        return self.states[-1].code not in self.lines

    def is_told(self, year: int) -> bool:
        """Whether a paper of that year or a later one may tell of it."""
        return self.ended_on is None or self.ended_on.year >= year


def courses(*, animals: Iterable[int]) -> dict[int, Course]:
    """Return the courses of animals' paths that somebody chose here, by the id of each path and of each plan in it."""
    paths = list(TreatmentPath.objects.filter(animal__in=list(animals)).select_related("animal").order_by("pk"))
    first: dict[int, int] = {}
    for path in paths:
        first[path.pk] = first.get(path.replaces_id or path.pk, path.pk)
    latest = {first[path.pk]: path for path in paths}
    decisions = list(PathDecision.objects.filter(path__in=first).values_list("path", "decided_on", "choice"))
    chosen = {first[path] for path, _, choice in decisions if choice == PathDecision.Choice.STAGED}
    happened, lines = _happened(paths, first, decisions), _lines(first)
    made = {
        root: Course(
            path_id=path.pk,
            paths=tuple(one for one, of in first.items() if of == root),
            animal=path.animal.name or path.animal.number,
            parted_on=path.parted_on,
            ended_on=path.ended_on,
            happened=tuple(happened[root]),
            lines=lines[root],
        )
        for root, path in latest.items()
        if path.parted_on and root in chosen
    }
    return {path: made[root] for path, root in first.items() if root in made}


def course(*, path: TreatmentPath) -> Course | None:
    """Return the course of one path; None where nobody has chosen it."""
    return courses(animals=[path.animal_id]).get(path.pk)


def waiting(*, on: date) -> tuple[Course, ...]:
    """Return the paths whose present state has no approved line, of which this year's and last year's papers tell."""
    lasts = Q(ended_on=None) | Q(ended_on__year__gte=on.year - 1)
    recent = TreatmentPath.objects.filter(lasts, parted_on__isnull=False)
    by_path = courses(animals=recent.values_list("animal", flat=True))
    waits = {one.path_id: one for one in by_path.values() if one.waits and one.is_told(on.year - 1)}
    return tuple(sorted(waits.values(), key=lambda one: (one.animal, one.path_id)))


def proposed(state: PathState) -> str:
    """Say what was done and whether it held, in the same sentences whatever came of it."""
    not_healed, ending = state.done - state.healed, ENDED[Ending(state.ending)] if state.ending else NOT_ENDED
    if not state.done:
        return f"No operation has its result yet. {ending}."
    done = "1 operation has been done" if state.done == 1 else f"{state.done} operations have been done"
    return f"{done}: {state.healed} healed, {not_healed} did not heal. {ending}."


def _happened(
    paths: Iterable[TreatmentPath], first: Mapping[int, int], decisions: Iterable[tuple[int, date, str]]
) -> dict[int, list[Happened]]:
    found: dict[int, list[Happened]] = defaultdict(list)
    steps = PathStep.objects.filter(path__in=first, part=PathStep.Part.OPERATION).exclude(result="")
    for path, on, result, beside in steps.values_list("path", "done_on", "result", "complication"):
        found[first[path]].append(Happened(on=on, kind=formulas.OPERATION, came_to=result, beside=beside))
    for path, on, kind in PathEvent.objects.filter(path__in=first).values_list("path", "on", "kind"):
        found[first[path]].append(Happened(on=on, kind="event", came_to=kind))
    for path, on, choice in decisions:
        if choice in TURNS:
            found[first[path]].append(Happened(on=on, kind="decision", came_to=choice))
    for one in paths:
        if one.ended_on and one.ending != Ending.REPLACED:
            found[first[one.pk]].append(Happened(on=one.ended_on, kind="end", came_to=one.ending))
    return found


def _lines(first: Mapping[int, int]) -> dict[int, dict[str, MedicalLine]]:
    found: dict[int, dict[str, MedicalLine]] = defaultdict(dict)
    for line in MedicalLine.objects.filter(path__in=first).order_by("pk"):
        found[first[line.path_id]][line.state] = line
    return found
