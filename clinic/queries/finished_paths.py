"""Every finished path: what was expected at its first decision against what came of it, and how good forecasts were."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from clinic.formulas import learning
from clinic.models import PathStep, TreatmentPath
from clinic.queries.path_ahead import one_decimal
from clinic.queries.paths import decisions_of
from ledger.queries import charges, holder

SHOWN = 60  # paths on the page, the newest first
FROM = 20  # finished operations from which forecasts are judged
Ending = TreatmentPath.Ending


@dataclass(frozen=True, kw_only=True)
class FinishedLine:
    path_id: int
    animal: str
    species: str
    name: str
    parted_on: date
    ended_on: date
    ending: str
    operations: str  # "2 of 3 made, 1 healed"
    expected_minor: int | None
    asked_minor: int
    apart_minor: int  # without its sign
    is_dearer: bool
    expected_days: str
    days: int  # the first and the last counted in, as a plan counts them
    kept_in_100: str
    is_earlier: bool  # from before the opening: neither expected nor asked here


@dataclass(frozen=True, kw_only=True)
class Forecasts:
    """How the chances of finished operations compare with what happened."""

    operations: int
    healed: int
    said_in_100: str  # what the forecasts said on average
    happened_in_100: str
    score: str  # mean squared distance, empty before there are enough
    missing: int  # operations still missing until they are judged


@dataclass(frozen=True, kw_only=True)
class FinishedPaths:
    lines: tuple[FinishedLine, ...]
    more: int  # older ones that are not shown
    currency: str
    forecasts: Forecasts


def finished_paths() -> FinishedPaths:
    books = holder.holder()
    paths = TreatmentPath.objects.filter(ended_on__isnull=False, parted_on__isnull=False)
    paths = paths.exclude(ending=Ending.REPLACED).select_related("animal")
    newest = list(paths.order_by("-ended_on", "-pk")[:SHOWN])
    return FinishedPaths(
        lines=tuple(_line(path) for path in newest),
        more=max(paths.count() - SHOWN, 0),
        currency=books.currency if books else "XXX",
        forecasts=_forecasts(),
    )


def ended_between(*, first: date, last: date) -> tuple[FinishedLine, ...]:
    """Return the paths that ended in a period, both days counted in, in the order of their days."""
    paths = TreatmentPath.objects.filter(ended_on__range=(first, last), parted_on__isnull=False)
    paths = paths.exclude(ending=Ending.REPLACED).select_related("animal").order_by("ended_on", "pk")
    return tuple(_line(path) for path in paths)


def _line(path: TreatmentPath) -> FinishedLine:
    decisions = decisions_of(path)
    expected = decisions[0].figures.get("go_on") if decisions else None
    care = charges.of_subject(subject_key=path.animal.key, from_on=path.parted_on, until_on=path.ended_on)
    asked = care.together.asked_minor
    apart = asked - expected["expected_minor"] if expected else 0
    results = list(path.steps.filter(part=PathStep.Part.OPERATION).values_list("result", flat=True))
    made, healed = sum(map(bool, results)), results.count(PathStep.Result.HEALED)
    return FinishedLine(
        path_id=path.pk,
        animal=path.animal.name or path.animal.number,
        species=path.animal.species,
        name=path.name,
        parted_on=path.parted_on or path.planned_on,
        ended_on=path.ended_on or path.planned_on,
        ending=path.get_ending_display(),
        operations=f"{made} of {len(results)} made, {healed} healed" if made else "no operation had its result",
        expected_minor=expected["expected_minor"] if expected else None,
        asked_minor=asked,
        apart_minor=abs(apart),
        is_dearer=apart > 0,
        expected_days=one_decimal(Fraction(expected["days"])) if expected else "",
        days=((path.ended_on or path.planned_on) - (path.parted_on or path.planned_on)).days + 1,
        is_earlier=not decisions,
        kept_in_100=one_decimal(Fraction(expected["kept"]) * 100) if expected else "",
    )


def _forecasts() -> Forecasts:
    """Judge the chances of the plans by their operations' results; what has no result is not counted."""
    steps = PathStep.objects.filter(part=PathStep.Part.OPERATION, chance__isnull=False).exclude(result="")
    said = [
        (Fraction(chance), result == PathStep.Result.HEALED) for chance, result in steps.values_list("chance", "result")
    ]
    count, healed = len(said), sum(result for _, result in said)
    score = learning.score(forecasts=said) if count >= FROM else None
    return Forecasts(
        operations=count,
        healed=healed,
        said_in_100=one_decimal(sum((chance for chance, _ in said), Fraction(0)) / count * 100) if count else "",
        happened_in_100=one_decimal(Fraction(healed, count) * 100) if count else "",
        score="" if score is None else f"{float(score):.2f}",
        missing=max(FROM - count, 0),
    )
