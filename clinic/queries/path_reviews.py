"""The review points of a path: which are reached, since when a decision is due, and which lie ahead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction

from clinic.forms.observed import plain
from clinic.formulas import review_points
from clinic.formulas.review_points import Answered, Reached, Seen
from clinic.models import Observation, PathDecision, PathEvent, PathStep, ReviewPoint, TreatmentPath, WoundReading
from clinic.queries.wounds import said
from config.charts.drawing import written
from config.days import day_year
from ledger.formulas import money

Kind, Finding = ReviewPoint.Kind, ReviewPoint.Finding
Points = Sequence[tuple[date, int]]


@dataclass(frozen=True, kw_only=True)
class ReviewLine:
    id: int
    words: str
    set_by: str
    set_on: date
    state: str  # ahead, due, answered
    reached_on: date | None
    due: str  # "decision due for 4 days"


@dataclass(frozen=True, kw_only=True)
class EventLine:
    on: date
    kind: str
    words: str
    by: str
    took: str


def reviews(
    *,
    path: TreatmentPath,
    paths: Sequence[int],
    decisions: Sequence[PathDecision],
    running: Points,
    convert_minor: int,
    currency: str,
    on: date,
) -> tuple[ReviewLine, ...]:
    """Return the points set on a path and on the plans it replaced, those that are due first.

    `running` is what the path has come to by day, `convert_minor` what converting costs now: it is held back
    inside a spending limit.
    """
    points = list(ReviewPoint.objects.filter(path__in=paths, dropped_at=None).select_related("set_by").order_by("pk"))
    if not points:
        return ()
    facts = _Facts(path, paths, on)
    answers = [Answered(on=one.decided_on, at=one.at) for one in decisions]
    lines = []
    for point in points:
        since = max([point.set_at, *(one.at for one in answers if one.at >= point.set_at)])
        fresh = _reached(point, facts, running, convert_minor, since)
        earlier = fresh or _reached(point, facts, running, convert_minor, point.set_at)
        answered = earlier and review_points.is_answered(reached=earlier, set_at=point.set_at, decisions=answers)
        state = "ahead" if not earlier else "answered" if answered else "due"
        lines.append(
            ReviewLine(
                id=point.pk,
                words=_words(point, convert_minor, currency),
                set_by=point.set_by.name,
                set_on=point.set_on,
                state=state,
                reached_on=earlier.on if earlier else None,
                due=_due((on - earlier.on).days) if earlier and state == "due" else "",
            )
        )
    return tuple(sorted(lines, key=lambda line: ("due", "ahead", "answered").index(line.state)))


def events(*, paths: Sequence[int]) -> tuple[EventLine, ...]:
    found = PathEvent.objects.filter(path__in=paths).select_related("recorded_by", "care_item__service")
    return tuple(
        EventLine(
            on=one.on,
            kind=one.get_kind_display(),
            words=one.words,
            by=one.recorded_by.name,
            took=one.care_item.service.name if one.care_item else "",
        )
        for one in found.order_by("on", "pk")
    )


class _Facts:
    """What review points ask of an animal and its path, each read at most once."""

    def __init__(self, path: TreatmentPath, paths: Sequence[int], on: date) -> None:
        self.today = on
        seen = path.animal.observations.filter(on__lte=on, wound_reading__taken_back_at=None).order_by(
            "on", "recorded_at"
        )
        self.observed = list(seen.filter(kind__in=[Observation.Kind.PAIN, Observation.Kind.APPETITE]))
        rows = WoundReading.objects.filter(observation__animal=path.animal, observation__on__lte=on, taken_back_at=None)
        self.readings = list(rows.select_related("observation").order_by("observation__on", "pk"))
        steps = PathStep.objects.filter(path__in=paths, part=PathStep.Part.OPERATION).exclude(result="")
        self.done_on = [step.done_on for step in steps if step.done_on]
        injuries = PathEvent.objects.filter(path__in=paths, kind=PathEvent.Kind.INJURY, on__lte=on)
        self.injuries = [Seen(on=one.on, at=one.recorded_at) for one in injuries.order_by("recorded_at")]

    def pain(self, since: datetime) -> list[Seen]:
        return [
            Seen(on=one.on, at=one.recorded_at, figure=Fraction(one.value) / Fraction(one.maximum))
            for one in self.observed
            if one.kind == Observation.Kind.PAIN and one.recorded_at > since and one.value is not None and one.maximum
        ]

    def not_eating(self, since: datetime) -> list[Seen]:
        return [
            Seen(on=one.on, at=one.recorded_at)
            for one in self.observed
            if one.kind == Observation.Kind.APPETITE and one.value == 0 and one.recorded_at > since
        ]

    def areas(self, since: datetime) -> list[Seen]:
        """Return the newest wound's areas from the last two before `since` on, so that growth since then is seen."""
        if not self.readings:
            return []
        series = [row for row in self.readings if row.wound == self.readings[-1].wound]
        later = sum(row.observation.recorded_at > since for row in series)
        kept = series[-(later + 2) :] if later else []
        return [
            Seen(
                on=row.observation.on,
                at=row.observation.recorded_at,
                figure=Fraction(said(row).reading(on=row.observation.on).area),
            )
            for row in kept
        ]


def _reached(point: ReviewPoint, facts: _Facts, running: Points, convert_minor: int, since: datetime) -> Reached | None:
    if point.kind == Kind.DAY and point.on:
        return review_points.by_day(on=point.on, today=facts.today)
    if point.kind == Kind.OPERATIONS:
        return review_points.by_operations(done_on=facts.done_on, number=point.operations or 0)
    if point.kind == Kind.SPENDING:
        return review_points.by_spending(
            running=running, limit_minor=point.limit_minor or 0, held_back_minor=convert_minor
        )
    if point.finding == Finding.PAIN:
        line = Fraction(point.pain_over or 0) / Fraction(point.pain_of or 1)
        return review_points.by_pain(scores=facts.pain(since), line=line)
    if point.finding == Finding.EATING:
        return review_points.by_first(seen=facts.not_eating(since))
    if point.finding == Finding.WOUND:
        return review_points.by_growing_twice(areas=facts.areas(since))
    return review_points.by_first(seen=[one for one in facts.injuries if one.at > since])


def _words(point: ReviewPoint, convert_minor: int, currency: str) -> str:
    if point.kind == Kind.DAY and point.on:
        return f"on {day_year(point.on)}"
    if point.kind == Kind.OPERATIONS:
        return f"after operation {point.operations}"
    if point.kind == Kind.SPENDING:
        digits = money.minor_digits(currency)
        limit, held = (written(amount, digits) for amount in (point.limit_minor or 0, convert_minor))
        return f"at a spending limit of {limit}, with the conversion, {held}, held back inside it"
    if point.finding == Finding.PAIN:
        return f"when pain is over {plain(point.pain_over)} of {plain(point.pain_of)}"
    return {
        Finding.EATING: "when it does not eat",
        Finding.WOUND: "when the wound is larger twice",
        Finding.INJURY: "at a new bandage injury",
    }[Finding(point.finding)]


def _due(days: int) -> str:
    """
    >>> _due(0), _due(1), _due(4)
    ('decision due today', 'decision due for a day', 'decision due for 4 days')
    """
    return "decision due today" if days == 0 else f"decision due for {'a day' if days == 1 else f'{days} days'}"
