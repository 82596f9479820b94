"""What was chosen for an animal on a staged path, told in the same sentences whatever came of it (I3).

What was done and whether it held is the line that a vet approved for how the path stood by then; there may be none.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from clinic.formulas import path_figures
from clinic.models import Animal, MedicalLine, PathDecision
from clinic.queries import path_course
from clinic.queries.plan_keys import plan_key
from ledger.formulas import money
from ledger.queries import charges, policies


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """Both ways as they stood at the first decision, and what was done by a day and whether it held, once approved."""

    animal: str
    keeps: str
    chosen_on: date
    staged_minor: int
    staged_days: int
    single_minor: int
    single_days: int
    medical_line: str  # empty until a vet has approved it
    line_id: int | None
    asked_minor: int
    general_is_bounded: bool


def what_we_chose(*, animals: dict[str, Animal], on: date) -> dict[str, Chosen]:
    """Return by animal's key what was chosen by a day, for those on a staged path."""
    first = _first_decisions([animal.pk for animal in animals.values()], on)
    if not first:
        return {}
    bounded = bool(policies.policy(code="general_ceiling", on=on))
    courses = path_course.courses(animals=first)
    return {
        key: _chosen(animal, first[animal.pk], courses[first[animal.pk].path_id].line(on=on), on, bounded)
        for key, animal in animals.items()
        if animal.pk in first
    }


def _first_decisions(animals: Iterable[int], on: date) -> dict[int, PathDecision]:
    """The decision by which the ways parted, of each animal's latest staged path, where figures were kept for both."""
    found: dict[int, PathDecision] = {}
    decisions = PathDecision.objects.filter(
        path__animal__in=list(animals), choice=PathDecision.Choice.STAGED, decided_on__lte=on
    )
    for decision in decisions.select_related("path__replaces").order_by("path_id", "-decided_on", "-id"):
        if "all_operations" in decision.figures:
            found[decision.path.animal_id] = decision
    return found


def _chosen(animal: Animal, decision: PathDecision, line: MedicalLine | None, on: date, bounded: bool) -> Chosen:
    path = decision.path
    single, staged = path_figures.kept_single(kept=decision.figures), decision.figures["all_operations"]
    return Chosen(
        animal=animal.name or animal.number,
        keeps=path.keeps,
        chosen_on=decision.decided_on,
        staged_minor=staged["expected_minor"],
        staged_days=money.half_up(Fraction(staged["days"])),
        single_minor=money.half_up(
            single.procedure_minor + single.daily_minor * single.days + single.complication_minor
        ),
        single_days=single.days,
        medical_line=line.words if line else "",
        line_id=line.pk if line else None,
        asked_minor=charges.of_subject(
            subject_key=animal.key, plan_key=plan_key(path), until_on=on
        ).together.asked_minor,
        general_is_bounded=bounded,
    )
