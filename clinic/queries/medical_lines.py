"""The page of a path's medical line: each state of the path with the words that donors read of it (I3)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from clinic.formulas.medical_lines import PathState
from clinic.models import MedicalLine, TreatmentPath
from clinic.queries import path_course
from clinic.queries.path_course import Course
from clinic.queries.what_we_chose import Chosen, what_we_chose
from config import home


@dataclass(frozen=True, kw_only=True)
class StateLine:
    """One state of a path with the line that donors read of it, or the words that are proposed."""

    since: date
    code: str
    words: str
    approved_by: str
    approved_at: datetime | None
    proposed: str
    is_present: bool


@dataclass(frozen=True, kw_only=True)
class MedicalLinePage:
    animal: str
    states: tuple[StateLine, ...]  # the present one first
    asked: StateLine  # the one of which the form is
    earlier: tuple[MedicalLine, ...]  # words approved for it before, the last ones first
    chosen: Chosen | None  # as donors read it, with the words approved or proposed
    others: tuple[Course, ...]  # further paths whose line waits

    @property
    def first_words(self) -> dict[str, str]:
        return {"state": self.asked.code, "words": self.asked.words or self.asked.proposed}


def medical_line_page(*, path: TreatmentPath, since: str, on: date) -> MedicalLinePage | None:
    """Return the page for the state that began on the day `since`, else the present one; None where nobody chose it."""
    course = path_course.course(path=path)
    if course is None:
        return None
    states = state_lines(course=course)
    asked = next((one for one in states if str(one.since) == since), states[0])
    chosen = what_we_chose(animals={path.animal.key: path.animal}, on=on if asked.is_present else asked.since)
    told = chosen.get(path.animal.key)
    approved = MedicalLine.objects.filter(path__in=course.paths, state=asked.code).select_related("approved_by")
    return MedicalLinePage(
        animal=course.animal,
        states=states,
        asked=asked,
        earlier=tuple(approved.order_by("-pk")[1:]),
        chosen=replace(told, medical_line=asked.words or asked.proposed)
        if told and told.chosen_on == course.parted_on
        else None,
        others=tuple(one for one in path_course.waiting(on=on) if one.path_id != course.path_id),
    )


def state_lines(*, course: Course) -> tuple[StateLine, ...]:
    """Return each state of a path with its line, the present one first."""
    present = course.states[-1]
    return tuple(_state_line(one, course.lines.get(one.code), one == present) for one in reversed(course.states))


def present_line(*, path: TreatmentPath) -> StateLine | None:
    """Return how a path stands now with the line that donors read of it; None where nobody chose the path."""
    course = path_course.course(path=path)
    return state_lines(course=course)[0] if course else None


def _state_line(state: PathState, line: MedicalLine | None, is_present: bool) -> StateLine:
    return StateLine(
        since=state.since,
        code=state.code,
        words=line.words if line else "",
        approved_by=home.person(line.approved_by_id) if line else "",
        approved_at=line.approved_at if line else None,
        proposed=path_course.proposed(state),
        is_present=is_present,
    )
