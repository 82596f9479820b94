"""What a minute of somebody's time costs, how long a piece of work takes, and what of the time was left unused.

Everything is a Fraction and nothing is rounded on the way: a rate that was rounded first no longer gives back what was
supplied. Source: R. S. Kaplan and S. R. Anderson, "Time-Driven Activity-Based Costing", HBS working paper 04-045, 2003.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction


class NoPracticalTime(ValueError):
    """Nobody works zero minutes: a cost over no time is no rate."""

    def __init__(self) -> None:
        super().__init__(
            "There are no minutes of work to share this cost over: check the days, the hours and the breaks."
        )


class TimeNegative(ValueError):
    """Minutes and costs of work are zero or more."""

    def __init__(self) -> None:
        super().__init__("A cost, a time or a number of times below zero was given.")


def practical_minutes(
    *, days: Fraction | int, hours_a_day: Fraction | int, break_minutes_a_day: Fraction | int = 0
) -> Fraction:
    """Return the minutes at work that are left for work: days x (hours x 60 - breaks).

    :raises NoPracticalTime: when nothing is left after the breaks.

    >>> practical_minutes(days=224, hours_a_day=Fraction("7.5"), break_minutes_a_day=90)
    Fraction(80640, 1)
    """
    if min(days, hours_a_day, break_minutes_a_day) < 0:
        raise TimeNegative
    minutes = Fraction(days) * (Fraction(hours_a_day) * 60 - Fraction(break_minutes_a_day))
    if minutes <= 0:
        raise NoPracticalTime
    return minutes


def capacity_rate(*, cost: Fraction | int, minutes: Fraction | int) -> Fraction:
    """Return what a minute costs: the cost supplied over the practical minutes.

    :raises NoPracticalTime: when the minutes are zero.

    >>> capacity_rate(cost=560_000, minutes=700_000)
    Fraction(4, 5)
    """
    if min(cost, minutes) < 0:
        raise TimeNegative
    if not minutes:
        raise NoPracticalTime
    return Fraction(cost) / Fraction(minutes)


def cost_of_time(parts: Iterable[tuple[Fraction | int, Fraction | int]]) -> Fraction:
    """Return the sum of minutes x rate over those who work on one thing.

    >>> cost_of_time([(40, Fraction("0.8")), (10, 2)])
    Fraction(52, 1)
    """
    return sum((Fraction(minutes) * Fraction(rate) for minutes, rate in parts), Fraction(0))


@dataclass(frozen=True)
class Extra:
    """Minutes that are added each time something holds: a further line, a new client, an emergency."""

    words: str
    minutes: Fraction | int
    times: Fraction | int = 1


def time_equation(*, base: Fraction | int, extras: Sequence[Extra] = ()) -> Fraction:
    """Return base + the sum of minutes x times over the extras.

    >>> time_equation(base=5, extras=[Extra("per line", 3, 3), Extra("new client", 15)])
    Fraction(29, 1)
    """
    numbers = [base, *(extra.minutes for extra in extras), *(extra.times for extra in extras)]
    if min(numbers) < 0:
        raise TimeNegative
    return Fraction(base) + cost_of_time((extra.minutes, extra.times) for extra in extras)


CLEANING_MINUTES, FEEDING_MINUTES = 9, 6


def least_daily_care(*, animal_days: int) -> Fraction:
    """Return the minutes that cleaning and feeding take at least: 9 + 6 for each animal and day, and nothing else.

    Source: the figure of the National Animal Care & Control Association as quoted by the University of Florida's open
    text on staffing capacity (second hand).

    >>> least_daily_care(animal_days=65) / 60
    Fraction(65, 4)
    """
    each = time_equation(base=CLEANING_MINUTES, extras=[Extra("feeding", FEEDING_MINUTES)])
    return cost_of_time([(each, animal_days)])


@dataclass(frozen=True)
class Capacity:
    """The time and the cost supplied, and what of both was used; more used than supplied leaves less than nothing."""

    supplied_minutes: Fraction
    used_minutes: Fraction
    supplied: Fraction
    assigned: Fraction

    @property
    def unused_minutes(self) -> Fraction:
        return self.supplied_minutes - self.used_minutes

    @property
    def unused(self) -> Fraction:
        return self.supplied - self.assigned


def capacity(*, cost: Fraction | int, minutes: Fraction | int, used: Iterable[tuple[Fraction | int, int]]) -> Capacity:
    """Return what of a supplied capacity was used by (minutes each, number of times); assigned + unused = supplied.

    :raises NoPracticalTime: when the minutes are zero.

    >>> month = capacity(cost=560_000, minutes=700_000, used=[(40, 9_800), (220, 280), (250, 500)])
    >>> int(month.assigned), int(month.unused_minutes), int(month.unused)
    (462880, 121400, 97120)
    """
    rate = capacity_rate(cost=cost, minutes=minutes)
    spent = cost_of_time(used)
    return Capacity(Fraction(minutes), spent, Fraction(cost), spent * rate)
