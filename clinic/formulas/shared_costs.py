"""Share the cost of rooms, power, cleaning and administration over those that they serve, exactly.

Step-down closes one service after another in a chosen order; what is closed gets nothing any more, and nobody pays for
their own use. Reciprocal lets services serve each other and solves the equations with Fractions. Source: the two
methods of standard cost accounting (D. W. Young, note on cost accounting, for the second).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

Amounts = Mapping[str, Fraction | int]


class SharingImpossible(ValueError):
    """The shared costs cannot be shared as they were given."""


class BaseIsZero(SharingImpossible):
    def __init__(self, service: str) -> None:
        super().__init__(
            f"Nothing is left to share the cost of {service} by: its base is zero for all who come after it."
        )


class Circle(SharingImpossible):
    def __init__(self, services: Sequence[str]) -> None:
        super().__init__(f"The order goes in a circle: {', '.join(services)}. Each service is closed once.")


class NotKnown(SharingImpossible):
    def __init__(self, name: str) -> None:
        super().__init__(f"{name} has no cost of its own in this sharing: enter it, even if it is 0.")


class BelowZero(SharingImpossible):
    def __init__(self, name: str) -> None:
        super().__init__(f"A cost or a base below zero was given for {name}.")


@dataclass(frozen=True)
class Share:
    name: str
    base: Fraction
    amount: Fraction


@dataclass(frozen=True)
class Step:
    """One service closed: what it had to share, by how much in all, so what per unit, and who got what."""

    service: str
    cost: Fraction
    base: Fraction
    shares: tuple[Share, ...]

    @property
    def rate(self) -> Fraction:
        return self.cost / self.base


@dataclass(frozen=True)
class SteppedDown:
    steps: tuple[Step, ...]
    costs: Mapping[str, Fraction]  # of those who are no service to others, in the order given


def step_down(*, costs: Amounts, order: Sequence[str], bases: Mapping[str, Amounts]) -> SteppedDown:
    """Close the services in their order, each over the bases of those still open; what comes out is what went in.

    :raises Circle: when a service stands twice in the order.
    :raises BaseIsZero: when nobody who is still open uses a service that has a cost.

    >>> done = step_down(costs={"power": 100, "ward": 10, "theater": 20}, order=["power"],
    ...                  bases={"power": {"ward": 3, "theater": 1, "power": 7}})
    >>> {name: int(cost) for name, cost in done.costs.items()}
    {'ward': 85, 'theater': 45}
    """
    _check(costs=costs, order=order, bases=bases)
    open_costs = {name: Fraction(cost) for name, cost in costs.items()}
    steps = []
    for service in order:
        cost = open_costs.pop(service)
        shares = _shares(service, cost, {name: bases.get(service, {}).get(name, 0) for name in open_costs})
        for share in shares:
            open_costs[share.name] += share.amount
        steps.append(Step(service, cost, sum((share.base for share in shares), Fraction(0)), shares))
    return SteppedDown(tuple(steps), open_costs)


def _shares(service: str, cost: Fraction, bases: Amounts) -> tuple[Share, ...]:
    whole = Fraction(sum(bases.values()))
    if not whole:
        raise BaseIsZero(service)
    return tuple(Share(name, Fraction(base), cost * base / whole) for name, base in bases.items() if base)


def _check(*, costs: Amounts, order: Sequence[str], bases: Mapping[str, Amounts]) -> None:
    twice = [name for place, name in enumerate(order) if name in order[:place]]
    if twice:
        raise Circle(order[order.index(twice[0]) :])
    for name in [*order, *bases, *(user for users in bases.values() for user in users)]:
        if name not in costs:
            raise NotKnown(name)
    for name, amount in [*costs.items(), *(pair for users in bases.values() for pair in users.items())]:
        if amount < 0:
            raise BelowZero(name)


def per_unit(*, cost: Fraction | int, units: int, words: str) -> Fraction:
    """Return what one of `units` carries of a cost that came out of the sharing; nothing carries nothing.

    :raises BaseIsZero: when there is a cost and nothing to carry it; `words` name whose.

    >>> per_unit(cost=327_500, units=1_250, words="the ward")
    Fraction(262, 1)
    """
    if units < 0 or cost < 0:
        raise BelowZero(words)
    if not units and cost:
        raise BaseIsZero(words)
    return Fraction(cost) / units if units else Fraction(0)


def reciprocal(*, costs: Amounts, parts: Mapping[str, Amounts]) -> dict[str, Fraction]:
    """Return the full cost of services that serve each other: own cost + the part of each other that they use.

    `parts[a][b]` is the part (0 to 1) of service b's full cost that service a takes over.

    :raises Circle: when services pass all of their cost round among themselves and nothing ever leaves.

    >>> parts = {"A": {"M": Fraction(1, 5)}, "M": {"A": Fraction(1, 6)}}
    >>> full = reciprocal(costs={"A": 1_200, "M": 2_400}, parts=parts)
    >>> round(full["A"]), round(full["M"])
    (1738, 2690)
    """
    _check(costs=costs, order=[], bases=parts)
    names = list(costs)
    rows = [
        [Fraction(one == other) - Fraction(parts.get(one, {}).get(other, 0)) for other in names]
        + [Fraction(costs[one])]
        for one in names
    ]
    _check_parts(names, parts)
    for at in range(len(names)):
        _clear(rows, at, names)
    return {name: rows[at][-1] for at, name in enumerate(names)}


def _check_parts(names: Sequence[str], parts: Mapping[str, Amounts]) -> None:
    for name in names:
        if sum((Fraction(users.get(name, 0)) for users in parts.values()), Fraction(0)) > 1:
            raise SharingImpossible(f"More than the whole of {name} is shared out.")


def _clear(rows: list[list[Fraction]], at: int, names: Sequence[str]) -> None:
    """Gauss and Jordan, one column: exact, so any pivot that is not zero will do."""
    pivot = next((row for row in range(at, len(rows)) if rows[row][at]), None)
    if pivot is None:
        raise Circle(names)
    rows[at], rows[pivot] = rows[pivot], rows[at]
    rows[at] = [cell / rows[at][at] for cell in rows[at]]
    for row, cells in enumerate(rows):
        if row != at and cells[at]:
            rows[row] = [cell - cells[at] * above for cell, above in zip(cells, rows[at], strict=True)]
