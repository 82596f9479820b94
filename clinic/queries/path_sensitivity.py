"""Which input moves the answer most: each chance and each number of days over its own interval."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from clinic.formulas import learning, sensitivity
from clinic.formulas.sensitivity import Interval
from clinic.formulas.staged_path import Plan
from clinic.models import PathStep
from clinic.queries import path_plan
from clinic.queries.path_ahead import low, one_decimal
from clinic.queries.path_learning import LearnedLine
from clinic.queries.path_plan import PricedPath
from config import charts
from ledger.formulas import money

Source = PathStep.Source


@dataclass(frozen=True, kw_only=True)
class SwingLine:
    words: str
    interval: str
    low_minor: int  # going on, on average, at the lower end
    high_minor: int
    swing_minor: int


@dataclass(frozen=True, kw_only=True)
class Sensitivity:
    lines: tuple[SwingLine, ...]  # the largest swing first
    silent: tuple[str, ...]  # operations whose chance has no interval
    chart: charts.Chart | None


def sensitivity_of(
    *, priced: PricedPath, learned: tuple[LearnedLine, ...], even: Fraction | None
) -> Sensitivity | None:
    """Return the swings of a plan's inputs, or None where nothing is ahead."""
    plan = path_plan.plan(priced=priced)
    if plan is None:
        return None
    ranges = {
        number: _range(one.step, line) for number, (one, line) in enumerate(zip(priced.left, learned, strict=True))
    }
    words = {one.words: one for one in _intervals(priced, plan, ranges)}
    swings = sensitivity.swings(intervals=words.values())
    return Sensitivity(
        lines=tuple(
            SwingLine(
                words=swing.words.split(" | ")[0],
                interval=swing.words.split(" | ")[1],
                low_minor=money.half_up(swing.at_low),
                high_minor=money.half_up(swing.at_high),
                swing_minor=money.half_up(swing.swing),
            )
            for swing in swings
        ),
        silent=tuple(one.words for number, one in enumerate(priced.left) if ranges[number] is None),
        chart=_chart(priced, ranges, even),
    )


def _range(step: PathStep, line: LearnedLine) -> tuple[Fraction, Fraction] | None:
    """Return a chance's own interval: what the vet gave, what the cases say, or what the series says."""
    if step.chance_low is not None and step.chance_high is not None:
        return Fraction(step.chance_low), Fraction(step.chance_high)
    if step.chance_source == Source.OWN and line.has_data:
        belief = learning.updated(healed=line.healed, of=line.of)
        return belief and (_fine(belief.low), _fine(belief.high))
    if step.chance_source != Source.VET and step.chance_n and step.chance is not None:
        rate = learning.wilson(healed=min(round(step.chance * step.chance_n), step.chance_n), of=step.chance_n)
        return rate and (_fine(rate.low), _fine(rate.high))
    return None


def _fine(chance: float) -> Fraction:
    return Fraction(round(chance * 10**6), 10**6)


def _intervals(
    priced: PricedPath, plan: Plan, ranges: dict[int, tuple[Fraction, Fraction] | None]
) -> Iterator[Interval]:
    for number, one in enumerate(priced.left):
        span = ranges[number]
        if span:
            ends = (sensitivity.with_chance(plan=plan, operation=number, chance=chance) for chance in span)
            words = (
                f"Success of the {low(one.words)} | {one_decimal(span[0] * 100)} to {one_decimal(span[1] * 100)} of 100"
            )
            yield Interval(words=words, low=next(ends), high=next(ends))
        step = one.step
        if step.days_low is not None and step.days_high is not None:
            days = (
                sensitivity.with_days(plan=plan, operation=number, days=Fraction(count), daily=one.daily_minor)
                for count in (step.days_low, step.days_high)
            )
            words = f"Days of the {low(one.words)} | {step.days_low} to {step.days_high} days"
            yield Interval(words=words, low=next(days), high=next(days))


def _chart(
    priced: PricedPath, ranges: dict[int, tuple[Fraction, Fraction] | None], even: Fraction | None
) -> charts.Chart:
    return charts.ranges(
        name="chances",
        title="How sure each chance is",
        desc="For each operation ahead the chance of the plan and, where there is one, its interval, in cases of 100.",
        rows=[
            charts.Range(
                words=one.words,
                remark=one.step.get_chance_source_display(),
                in_100=Fraction(one.step.chance or 0) * 100,
                low=span[0] * 100 if (span := ranges[number]) else None,
                high=span[1] * 100 if span else None,
                is_seen=one.step.chance_source != Source.VET,
            )
            for number, one in enumerate(priced.left)
        ],
        mark=None if even is None else even * 100,
        mark_words="" if even is None else f"same cost at {one_decimal(even * 100)}",
        caption="Solid: from counted cases. Dashed: a range that somebody gave. A dot alone: no range was given.",
    )
