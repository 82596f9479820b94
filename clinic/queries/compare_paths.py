"""Answers `manage.py compare_paths`: a plan's figures with money rounded once, and the cautions beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from clinic.forms.compare_paths import PlanFile
from clinic.formulas import break_even, staged_path, staged_path_prospect
from clinic.formulas.staged_path import Plan
from clinic.formulas.staged_path_prospect import Prospect
from ledger.formulas import money

ALWAYS = (
    "Cost is one input: welfare, pain and prognosis come first.",
    "The decision is the attending veterinarian's, under local law.",
    "The figures assume that the animal survives each anesthetic.",
    "Human limb-salvage figures do not carry over to animals.",
)
IN_100 = (10, 50, 90)


def compare_paths(*, file: PlanFile) -> dict[str, Any]:
    """Return the answer in the shape that is printed as JSON."""
    answer = staged_path_prospect.compare(plan=file.plan)
    even = break_even.break_even(plan=file.plan)

    def amount(value: Fraction) -> str:
        return f"{money.from_minor(money.to_minor(value, file.currency), file.currency):f}"

    def prospect(of: Prospect) -> dict[str, Any]:
        return {
            "expected_cost": amount(of.expected_cost),
            "expected_total": amount(of.expected_cost + file.spent),
            "expected_days": _number(of.expected_days),
            "attempts_mean": _number(of.operations_mean),
            "attempts_sd": math.sqrt(of.operations_variance),
            "probability_kept": _number(of.chance_kept),
            "distribution": [
                {"cost": amount(pair.cost), "days": _number(pair.days), "probability": _number(pair.chance)}
                for pair in of.distribution
            ],
            "percentiles": {
                str(in_100): amount(staged_path_prospect.cost_reached(distribution=of.distribution, in_100=in_100))
                for in_100 in IN_100
            },
        }

    return {
        "continue": prospect(answer.going_on),
        "all_attempts": prospect(answer.all_operations),
        "convert_now": {
            "expected_cost": amount(answer.convert_now.expected_cost),
            "expected_total": amount(answer.convert_now.expected_cost + file.spent),
            "expected_days": _number(answer.convert_now.expected_days),
        },
        "advice": ["attempt" if worth else "convert" for worth in answer.worth_trying],
        "break_even_success": None if even is None else float(even),
        "cautions": [*cautions(plan=file.plan, even=even), *_about_the_file(file)],
    }


def cautions(*, plan: Plan, even: Fraction | None) -> tuple[str, ...]:
    """Return the sentences that stand beside every comparison, then those that this plan calls for."""
    return (*ALWAYS, *_about_the_plan(plan, even))


def as_text(answer: dict[str, Any], currency: str) -> str:
    """Return the same answer as a plain table for a person's eyes."""
    names = (
        ("continue", "Go on, then whichever is cheaper on average"),
        ("all_attempts", "Make all operations"),
        ("convert_now", "Convert now"),
    )
    lines = [f"Still to come, in {currency}", f"{'':44}{'on average':>14}{'with spent':>14}{'days':>8}{'kept':>8}"]
    for name, words in names:
        part = answer[name]
        kept = f"{part['probability_kept']:8.1%}" if "probability_kept" in part else f"{'none':>8}"
        figures = f"{part['expected_cost']:>14}{part['expected_total']:>14}{part['expected_days']:8.1f}{kept}"
        lines.append(f"{words:44}{figures}")
    for name, words in names[:2]:
        lines += ["", f"{words}: how it may end", f"{'':4}{'cost':>14}{'days':>10}{'in 100':>10}"]
        for way in answer[name]["distribution"]:
            lines.append(f"{'':4}{way['cost']:>14}{way['days']:10.1f}{100 * way['probability']:10.1f}")
        low, half, high = answer[name]["percentiles"].values()
        lines.append(f"{'':4}1 in 10 end at or under {low}, half at {half}, 9 in 10 at {high}")
    tries = [f"{n}. {'try' if word == 'attempt' else 'convert'}" for n, word in enumerate(answer["advice"], start=1)]
    even = answer["break_even_success"]
    lines += [
        "",
        f"Cheaper on average, operation by operation: {', '.join(tries)}",
        f"Both ways cost the same at a chance of {'(there is none)' if even is None else format(even, '.6g')}",
        "",
        *answer["cautions"],
    ]
    return "\n".join(lines)


def _about_the_plan(plan: Plan, even: Fraction | None) -> Iterator[str]:
    if even is None:
        first = staged_path.full_cost(step=plan.operations[0], daily_cost=plan.daily_cost)
        single = staged_path.full_cost(step=plan.single, daily_cost=plan.daily_cost)
        what = "an operation" if first > single else "an operation and what follows its success"
        yield f"There is no chance at which both ways cost the same: {what} costs more than the single procedure."
    elif even == 0:
        yield "Making all operations never costs more than the single procedure now, whatever their chances."
    elif len(plan.operations) > 1:
        yield "The chance at which both ways cost the same is taken as one and the same for every operation."
    for number, operation in enumerate(plan.operations, start=1):
        if operation.success == 0:
            yield f"Operation {number} is entered with no chance to heal."
        if operation.success == 1 and number < len(plan.operations):
            yield f"Operation {number} is entered as certain to heal; what follows it is never reached."


def _about_the_file(file: PlanFile) -> Iterator[str]:
    if file.spent:
        yield "What is spent already is in the totals and changes nothing about what is still to come."
    for name in file.unknown_fields:
        yield f'The field "{name}" is not known and was left out of the computation.'


def _number(value: Fraction) -> int | float:
    return value.numerator if value.denominator == 1 else float(value)
