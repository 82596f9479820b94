"""Chains with states that nobody leaves: how often each state is seen, where it ends, and what a cohort costs.

A row of a chain holds the chances of going from one state to each state that can still be left; what is
missing to 1 goes to the ends. Method: Grinstead & Snell, Introduction to Probability, section 11.2, with
N = (I - Q)^-1 and B = N R, in Fractions throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

Row = Sequence[Fraction]
Matrix = tuple[tuple[Fraction, ...], ...]
ONE, ZERO = Fraction(1), Fraction(0)


class NeverEnds(ValueError):
    """A chain that can go on for ever: some state never leads to an end."""


class RowsDiffer(ValueError):
    """Rows of different lengths, or chances that are none."""


def visits(*, moves: Sequence[Row]) -> Matrix:
    """Return how often, on average, each state is seen from each state, the first time counted.

    The walk on 0..4 at even chances, seen from 1, 2 and 3:

    >>> half = Fraction(1, 2)
    >>> for row in visits(moves=[(0, half, 0), (half, 0, half), (0, half, 0)]):
    ...     print(*row)
    3/2 1 1/2
    1 2 1
    1/2 1 3/2

    :raises NeverEnds: when a state never leads to an end.
    """
    size = len(moves)
    _check(moves, size)
    rows = [
        [ONE * (n == m) - Fraction(moves[n][m]) for m in range(size)] + [ONE * (n == m) for m in range(size)]
        for n in range(size)
    ]
    for column in range(size):
        pivot = next((n for n in range(column, size) if rows[n][column]), None)
        if pivot is None:
            raise NeverEnds("A chain of which some state never leads to an end has no mean.")
        rows[column], rows[pivot] = rows[pivot], rows[column]
        head = rows[column][column]
        rows[column] = [part / head for part in rows[column]]
        for n in range(size):
            if n != column and rows[n][column]:
                times = rows[n][column]
                rows[n] = [part - times * lead for part, lead in zip(rows[n], rows[column], strict=True)]
    return tuple(tuple(row[size:]) for row in rows)


def steps_to_the_end(*, moves: Sequence[Row]) -> tuple[Fraction, ...]:
    """Return the mean number of steps until an end is reached, from each state."""
    return tuple(sum(row, ZERO) for row in visits(moves=moves))


def ends(*, moves: Sequence[Row], out: Sequence[Row]) -> Matrix:
    """Return the chance of each end, from each state; `out` holds the chances of going to each end."""
    seen = visits(moves=moves)
    _check(out, len(out[0]) if out else 0)
    return tuple(
        tuple(sum((row[n] * Fraction(out[n][end]) for n in range(len(row))), ZERO) for end in range(len(out[0])))
        for row in seen
    )


def cohort_cost(
    *,
    start: Row,
    moves: Sequence[Row],
    costs: Row,
    cycles: int,
    rate: Fraction = ZERO,
) -> Fraction:
    """Return what a cohort costs in `cycles` cycles: each cycle moves first, then pays for where it stands.

    `rate` discounts: what is paid in cycle t counts 1 / (1 + rate)^t. `moves` holds every state here.

    >>> cohort_cost(start=(1, 0), moves=[(Fraction(1, 2), Fraction(1, 2)), (0, 1)], costs=(100, 0), cycles=2)
    Fraction(75, 1)
    >>> cohort_cost(start=(1,), moves=[(1,)], costs=(110,), cycles=1, rate=Fraction(1, 10))
    Fraction(100, 1)
    """
    _check([*moves, start, costs], len(moves), chances=False)
    now, paid, worth = [Fraction(part) for part in start], ZERO, ONE
    for _ in range(cycles):
        now = [sum((now[n] * moves[n][m] for n in range(len(moves))), ZERO) for m in range(len(moves))]
        worth /= 1 + rate
        paid += worth * sum((there * cost for there, cost in zip(now, costs, strict=True)), ZERO)
    return paid


def _check(rows: Sequence[Row], width: int, *, chances: bool = True) -> None:
    if any(len(row) != width for row in rows):
        raise RowsDiffer("Every row of a chain has one figure for each state.")
    if chances and any(not 0 <= part <= 1 for row in rows for part in row):
        raise RowsDiffer("A chance lies between 0 and 1.")
