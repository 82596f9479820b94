"""The chance at which making all operations costs the same as the single procedure now, exactly.

Let every remaining operation have the same chance p, and q = 1 - p. With full costs (days included)
c1 ... cn of the operations, S of what follows success, F of the fallback and D of the single procedure,
making all operations costs more than converting now by

    g(q) = c1 + S - D  +  c2 q + c3 q^2 + ... + cn q^(n-1)  +  (F - S) q^n.

No cost is negative, so on 0..1 only the last term can pull g down: g rises, and may fall again once.
Where it is above zero is therefore one interval, and the break-even is the q at which that begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from clinic.formulas.staged_path import Plan, full_cost

Polynomial = tuple[Fraction, ...]

FINE = Fraction(1, 2**72)
ROUNDEST = 10**9


def break_even(*, plan: Plan) -> Fraction | None:
    """Return the smallest chance from which on making all operations never costs more than converting.

    None where there is no such chance: even a certain success would cost more. Rational answers with
    a denominator up to a thousand million are exact; others are within 2^-72.

    >>> from clinic.formulas.staged_path import Operation, Single, Step
    >>> def plan(cost, fallback, tries):
    ...     tried = Operation(cost=Fraction(cost), success=Fraction(1, 2))
    ...     return Plan(operations=(tried,) * tries, after_success=Step(),
    ...                 fallback=Step(cost=Fraction(fallback)), single=Single(cost=Fraction(2500)))
    >>> break_even(plan=plan(1800, 2500, 3))
    Fraction(18, 25)
    >>> [round(float(break_even(plan=plan(1800, 3100, tries))), 6) for tries in (1, 2, 3)]
    [0.774194, 0.733462, 0.723741]
    >>> break_even(plan=plan(2501, 2500, 3)) is None
    True
    """
    more = _more_than_single(plan)
    if more[0] > 0:
        return None
    if more[0] == 0:
        first = next((part for part in more[1:] if part), Fraction(0))
        return Fraction(1 if first > 0 else 0)
    beyond = _where_positive(more)
    return Fraction(0) if beyond is None else 1 - _last_below(more, beyond)


def _more_than_single(plan: Plan) -> Polynomial:
    """Return g, lowest power first."""
    costs = [full_cost(step=step, daily_cost=plan.daily_cost) for step in plan.operations]
    after = full_cost(step=plan.after_success, daily_cost=plan.daily_cost)
    single = full_cost(step=plan.single, daily_cost=plan.daily_cost)
    fallback = full_cost(step=plan.fallback, daily_cost=plan.daily_cost)
    return (costs[0] + after - single, *costs[1:], fallback - after)


def _where_positive(more: Polynomial) -> Fraction | None:
    """Return some q in 0..1 with g(q) > 0, or None where there is none."""
    if _at(more, Fraction(1)) > 0:
        return Fraction(1)
    slope = _derivative(more)
    if more[-1] >= 0 or _at(slope, Fraction(1)) >= 0:
        return None
    return _near_the_top(more, slope)


def _near_the_top(more: Polynomial, slope: Polynomial) -> Fraction | None:
    """Close in on the top of g by its slope until g is seen above zero there, or cannot be."""
    low, high = Fraction(0), Fraction(1)
    steepest = sum((abs(part) for part in slope), Fraction(0))
    touching = None
    while True:
        middle = (low + high) / 2
        if _at(more, middle) > 0:
            return middle
        if _at(slope, middle) > 0:
            low = middle
        else:
            high = middle
        if _at(more, low) + (high - low) * steepest < 0:
            return None
        if high - low < FINE:
            touching = touching or _common(more, slope)
            if _changes_sign(touching, low, high):
                return None


def _last_below(more: Polynomial, beyond: Fraction) -> Fraction:
    """Return the largest q under `beyond` up to which g stays at or below zero."""
    low, high = Fraction(0), beyond
    while high - low > FINE:
        middle = (low + high) / 2
        if _at(more, middle) > 0:
            high = middle
        else:
            low = middle
    round_one = ((low + high) / 2).limit_denominator(ROUNDEST)
    return round_one if low <= round_one <= high and _at(more, round_one) == 0 else low


def _at(polynomial: Sequence[Fraction], q: Fraction) -> Fraction:
    value = Fraction(0)
    for part in reversed(polynomial):
        value = value * q + part
    return value


def _derivative(polynomial: Sequence[Fraction]) -> Polynomial:
    return tuple(power * part for power, part in enumerate(polynomial))[1:]


def _common(one: Sequence[Fraction], other: Sequence[Fraction]) -> Polynomial:
    """Return the greatest common divisor: its roots are the places where g only touches zero."""
    one, other = _trimmed(one), _trimmed(other)
    while other:
        one, other = other, _remainder(one, other)
    return tuple(part / one[-1] for part in one)


def _remainder(one: Sequence[Fraction], other: Sequence[Fraction]) -> Polynomial:
    rest = list(one)
    while len(rest) >= len(other):
        times = rest[-1] / other[-1]
        shift = len(rest) - len(other)
        for power, part in enumerate(other):
            rest[power + shift] -= times * part
        rest.pop()
    return _trimmed(rest)


def _trimmed(polynomial: Sequence[Fraction]) -> Polynomial:
    parts = list(polynomial)
    while parts and parts[-1] == 0:
        parts.pop()
    return tuple(parts)


def _changes_sign(polynomial: Polynomial, low: Fraction, high: Fraction) -> bool:
    return len(polynomial) > 1 and _at(polynomial, low) * _at(polynomial, high) <= 0
