"""Which days or which parts make an amount at the bank: a payout, a deposit of several checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

MOST_PARTS, MOST_SUMS = 40, 50_000


def spans(amounts: Sequence[int], target: int) -> list[tuple[int, int]]:
    """Return where runs of amounts side by side sum to a target, first and last place, the earliest first.

    >>> spans([300, 200, 500, 100], 500), spans([300, 200], 400)
    ([(0, 1), (2, 2)], [])
    """
    reached, standing = {0: [0]}, 0
    found = []
    for place, amount in enumerate(amounts, start=1):
        standing += amount
        found += [(begun, place - 1) for begun in reached.get(standing - target, ())]
        reached.setdefault(standing, []).append(place)
    return sorted(found)


def only_parts(amounts: Sequence[int], target: int) -> tuple[int, ...] | None:
    """Return the places of the one selection that sums to a target; None where there is none, or several.

    >>> only_parts([2500, 4000, 1500, 10000], 6500), only_parts([500, 500, 1000], 1000)
    ((0, 1), None)
    """
    if len(amounts) > MOST_PARTS or target <= 0 or any(amount <= 0 for amount in amounts):
        return None
    ways: dict[int, tuple[tuple[int, ...], ...]] = {0: ((),)}
    for place, amount in enumerate(amounts):
        for standing, selections in list(ways.items()):
            if standing + amount <= target:
                there = ways.get(standing + amount, ())
                ways[standing + amount] = (*there, *((*one, place) for one in selections))[:2]
        if len(ways) > MOST_SUMS:
            return None
    found = ways.get(target, ())
    return found[0] if len(found) == 1 else None


def split(target: int, *, wished: Mapping[int, int], held: Mapping[int, int]) -> dict[int, int] | None:
    """Return what of a payout is each fund's: as its gifts came in, and never beyond what is held for it.

    >>> split(90, wished={1: 60, 2: 30}, held={1: 60, 2: 45}), split(90, wished={1: 100, 2: -10}, held={1: 80, 2: 20})
    ({1: 60, 2: 30}, {1: 80, 2: 10})
    >>> split(90, wished={1: 90}, held={1: 60}) is None
    True
    """
    found = {fund: min(max(wished.get(fund, 0), min(there, 0)), max(there, 0)) for fund, there in held.items()}
    missing = target - sum(found.values())
    for fund, there in sorted(held.items()):
        limit = max(there, 0) if missing > 0 else min(there, 0)
        room = limit - found[fund]
        step = min(missing, max(room, 0)) if missing > 0 else max(missing, min(room, 0))
        found[fund] += step
        missing -= step
    return None if missing else {fund: minor for fund, minor in found.items() if minor}
