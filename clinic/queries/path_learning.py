"""What the clinic's own finished operations and paths say: chances with their range, days to healing, endings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from clinic.formulas import kaplan_meier, learning
from clinic.models import PathStep, TreatmentPath
from clinic.queries.path_plan import PricedPath, PricedStep

ENOUGH = 5  # cases of one kind, before it is judged by itself
Result, Ending = PathStep.Result, TreatmentPath.Ending
Finished = tuple[int | None, str, bool]  # the procedure, the species, whether it healed


@dataclass(frozen=True, kw_only=True)
class LearnedLine:
    """What is known of one operation ahead. `in_100` is empty where there is no case."""

    operation: str
    scope: str  # which cases these are
    healed: int
    of: int
    in_100: str
    low_in_100: int
    high_in_100: int
    with_series: str  # the published series that the plan begins from, updated by these cases; empty without one

    @property
    def has_data(self) -> bool:
        return self.of > 0


@dataclass(frozen=True, kw_only=True)
class HealingDays:
    """Days from the first decision to healing, with the paths that are still open counted as such."""

    scope: str
    cases: int
    open: int  # still on the path, or ended otherwise
    median: int | None
    endings: tuple[tuple[str, int], ...]  # in words, with their number


def learned(*, priced: PricedPath) -> tuple[LearnedLine, ...]:
    """Return what finished operations say of each one ahead, by kind and species where there are enough."""
    cases = _finished()
    return tuple(_line(one, priced.path.animal.species, cases) for one in priced.left)


def belief_of(line: LearnedLine) -> learning.Belief | None:
    return learning.updated(healed=line.healed, of=line.of)


def _finished() -> list[Finished]:
    steps = PathStep.objects.filter(part=PathStep.Part.OPERATION).exclude(result="")
    return [
        (service, species, result == Result.HEALED)
        for service, species, result in steps.values_list("service", "path__animal__species", "result").order_by("pk")
    ]


def _line(one: PricedStep, species: str, cases: Sequence[Finished]) -> LearnedLine:
    pools = (
        (f"this operation, species {species}", [c for c in cases if c[0] == one.step.service_id and c[1] == species]),
        ("this operation, all species", [c for c in cases if c[0] == one.step.service_id]),
        (f"all operations of staged paths, species {species}", [c for c in cases if c[1] == species]),
        ("all operations of staged paths, all species", list(cases)),
    )
    scope, pool = next((pool for pool in pools if len(pool[1]) >= ENOUGH), pools[-1])
    healed = sum(result for _, _, result in pool)
    belief = learning.updated(healed=healed, of=len(pool))
    return LearnedLine(
        operation=one.words,
        scope=scope,
        healed=healed,
        of=len(pool),
        in_100="" if belief is None else f"{_in_100(belief.mean)}",
        low_in_100=0 if belief is None else _in_100(belief.low),
        high_in_100=0 if belief is None else _in_100(belief.high),
        with_series=_with_series(one.step, healed, len(pool)),
    )


def _with_series(step: PathStep, healed: int, of: int) -> str:
    """A published series stands in the plan as a starting belief of its own cases; the clinic's update it."""
    if step.chance_source != PathStep.Source.SERIES or not step.chance_n or step.chance is None or not of:
        return ""
    before = round(step.chance * step.chance_n)
    found = learning.updated(healed=healed, of=of, start=(1 + before, 1 + step.chance_n - before))
    return f"{_in_100(found.mean)}" if found else ""


def _in_100(chance: float | Fraction) -> int:
    """
    >>> _in_100(Fraction(6, 11)), _in_100(0.2624)
    (55, 26)
    """
    return int(chance * 100 + Fraction(1, 2)) if isinstance(chance, Fraction) else int(chance * 100 + 0.5)


def healing_days(*, species: str, on: date) -> HealingDays | None:
    """Return how long paths took to heal, of this species where there are enough; None where no path was chosen."""
    paths = TreatmentPath.objects.exclude(ending=Ending.REPLACED).filter(parted_on__lte=on)
    rows = list(paths.values_list("animal__species", "parted_on", "ended_on", "ending").order_by("pk"))
    own = [row for row in rows if row[0] == species]
    scope, chosen = (f"species {species}", own) if len(own) >= ENOUGH else ("all species", rows)
    if not chosen:
        return None
    found = kaplan_meier.curve(
        cases=[
            ((min(ended or on, on) - parted).days, ending == Ending.HEALED and bool(ended and ended <= on))
            for _, parted, ended, ending in chosen
        ]
    )
    ended = Counter(ending for _, _, ended_on, ending in chosen if ended_on and ended_on <= on)
    return HealingDays(
        scope=scope,
        cases=found.cases,
        open=found.open,
        median=found.median,
        endings=tuple((Ending(code).label, ended[code]) for code in Ending.values if ended[code])
        + ((("still open", len(chosen) - sum(ended.values())),) if len(chosen) > sum(ended.values()) else ()),
    )
