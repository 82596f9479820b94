"""What time and shared services cost, against figures published by others, with the laws of the methods.

Capacity rate and time equation: R. S. Kaplan and S. R. Anderson, "Time-Driven Activity-Based Costing", HBS working
paper 04-045 (2003), pages 8 and 13 (published). Nurse rate: R. S. Kaplan and M. E. Porter, HBR, September 2011 (second
hand). Step-down: the Arbon Company, a standard textbook problem (inputs published, answers recomputed). Reciprocal:
D. W. Young, note on cost accounting (published). Shelter staffing: the figure of the National Animal Care & Control
Association as quoted by the University of Florida's open text on staffing capacity (second hand).
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.formulas.shared_costs import (
    BaseIsZero,
    BelowZero,
    Circle,
    NotKnown,
    SharingImpossible,
    reciprocal,
    step_down,
)
from clinic.formulas.time_costs import (
    Extra,
    NoPracticalTime,
    TimeNegative,
    capacity,
    capacity_rate,
    cost_of_time,
    least_daily_care,
    practical_minutes,
    time_equation,
)

ARBON = {"admin": 84_000, "janitorial": 67_800, "maintenance": 36_000, "prep": 256_100, "finishing": 498_600}
ARBON_BASES = {
    "admin": {"janitorial": 60, "maintenance": 240, "prep": 600, "finishing": 300},
    "janitorial": {"maintenance": 10_000, "prep": 20_000, "finishing": 70_000},
    "maintenance": {"prep": 10_000, "finishing": 30_000},
}
ARBON_ORDER = ["admin", "janitorial", "maintenance"]


def test_the_capacity_rate_of_a_customer_service():
    """Published: Kaplan and Anderson, page 8."""
    rate = capacity_rate(cost=560_000, minutes=700_000)
    month = capacity(cost=560_000, minutes=700_000, used=[(40, 9_800), (220, 280), (250, 500)])

    assert [cost_of_time([(minutes, rate)]) for minutes in (40, 220, 250)] == [32, 176, 200]
    assert (month.used_minutes, month.assigned) == (578_600, 462_880)
    assert (month.unused_minutes, month.unused) == (121_400, 97_120)


@pytest.mark.parametrize(
    ("new", "lines", "rush", "minutes"), [(0, 3, 0, 14), (1, 3, 1, 39)], ids=["old client", "new client in a hurry"]
)
def test_the_time_equation_of_an_order(new, lines, rush, minutes):
    """Equation published: Kaplan and Anderson, page 13; the minutes are recomputed."""
    extras = [Extra("new client", 15, new), Extra("per line", 3, lines), Extra("rush", 10, rush)]

    assert time_equation(base=5, extras=extras) == minutes


def test_the_hour_of_a_nurse_and_a_visit():
    """Second hand: Kaplan and Porter, 2011; only days that were not rounded (224 / 12 a month) give 65.00."""
    year = 65_000 + 9_000 + 10_800 + 2_560
    minutes = practical_minutes(days=224, hours_a_day=6)
    month = practical_minutes(days=Fraction(224, 12), hours_a_day=6)

    assert capacity_rate(cost=year, minutes=minutes) * 60 == 65
    assert capacity_rate(cost=Fraction(year, 12), minutes=month) * 60 == 65
    assert capacity_rate(cost=Fraction(year, 12), minutes=practical_minutes(days=19, hours_a_day=6)) * 60 != 65
    visit = [(18, Fraction(45, 60)), (24, Fraction(65, 60)), (9, Fraction(300, 60))]
    assert [cost_of_time([part]) for part in visit] == [Fraction("13.5"), 26, 45]
    assert cost_of_time(visit) == Fraction("84.5")


def test_breaks_are_no_practical_time():
    """The same nurse at 7.5 hours of which 90 minutes are breaks; recomputed."""
    assert practical_minutes(days=224, hours_a_day=Fraction("7.5"), break_minutes_a_day=90) == 224 * 6 * 60


def test_the_daily_care_of_a_shelter():
    """Second hand: 9 minutes of cleaning and 6 of feeding; 65 animals take 16.25 hours."""
    assert least_daily_care(animal_days=1) == 15
    assert least_daily_care(animal_days=65) == 975
    assert least_daily_care(animal_days=65) / 60 == Fraction("16.25")


def test_three_services_stepped_down():
    """Inputs published (Arbon Company), answers recomputed."""
    done = step_down(costs=ARBON, order=ARBON_ORDER, bases=ARBON_BASES)

    assert [step.rate for step in done.steps] == [70, Fraction("0.72"), Fraction("1.5")]
    assert [step.cost for step in done.steps] == [84_000, 72_000, 60_000]
    assert done.costs == {"prep": 327_500, "finishing": 615_000}
    assert sum(done.costs.values()) == sum(ARBON.values())


def test_a_services_own_use_and_the_closed_ones_are_left_out():
    bases = ARBON_BASES | {
        "admin": ARBON_BASES["admin"] | {"admin": 99},
        "janitorial": {"admin": 500, **ARBON_BASES["janitorial"]},
    }

    assert step_down(costs=ARBON, order=ARBON_ORDER, bases=bases) == step_down(
        costs=ARBON, order=ARBON_ORDER, bases=ARBON_BASES
    )


def test_two_services_that_serve_each_other():
    """Published: D. W. Young; A = 1,200 + M/5 and M = 2,400 + A/6 give 1,738 and 2,690."""
    full = reciprocal(costs={"A": 1_200, "M": 2_400}, parts={"A": {"M": Fraction(1, 5)}, "M": {"A": Fraction(1, 6)}})

    assert full == {"A": Fraction(50_400, 29), "M": Fraction(78_000, 29)}
    assert (round(full["A"]), round(full["M"])) == (1_738, 2_690)


@pytest.mark.parametrize("bad", [{"minutes": 0}, {"minutes": 0, "cost": 0}])
def test_no_time_is_no_rate(bad):
    with pytest.raises(NoPracticalTime, match="no minutes of work"):
        capacity_rate(**{"cost": 100} | bad)


def test_breaks_that_eat_the_day_leave_no_time():
    with pytest.raises(NoPracticalTime):
        practical_minutes(days=220, hours_a_day=1, break_minutes_a_day=60)


def test_time_below_zero_is_named():
    with pytest.raises(TimeNegative, match="below zero"):
        time_equation(base=5, extras=[Extra("rush", -1)])
    with pytest.raises(TimeNegative):
        practical_minutes(days=-1, hours_a_day=8)


@pytest.mark.parametrize(
    ("costs", "order", "bases", "refusal", "words"),
    [
        ({"power": 5, "ward": 1}, ["power"], {"power": {"ward": 0}}, BaseIsZero, "cost of power"),
        ({"power": 5, "ward": 1}, ["power"], {}, BaseIsZero, "cost of power"),
        ({"a": 1, "b": 1, "w": 1}, ["a", "b", "a"], {"a": {"w": 1}, "b": {"w": 1}}, Circle, "a, b, a"),
        ({"w": 1}, ["power"], {}, NotKnown, "power has no cost"),
        ({"power": 5, "ward": 1}, ["power"], {"power": {"ward": -1}}, BelowZero, "for ward"),
    ],
)
def test_what_cannot_be_stepped_down_is_named(costs, order, bases, refusal, words):
    with pytest.raises(refusal, match=words):
        step_down(costs=costs, order=order, bases=bases)


def test_services_that_only_serve_each_other_are_a_circle():
    with pytest.raises(Circle, match="in a circle: a, b"):
        reciprocal(costs={"a": 1, "b": 1}, parts={"a": {"b": 1}, "b": {"a": 1}})
    with pytest.raises(SharingImpossible, match="whole of a"):
        reciprocal(costs={"a": 1, "b": 1}, parts={"b": {"a": Fraction(3, 2)}})


money = st.fractions(0, 1_000_000, max_denominator=1_000)
counts = st.integers(0, 5_000)


@given(cost=money, minutes=st.integers(1, 1_000_000), used=st.lists(st.tuples(counts, counts), max_size=6))
def test_assigned_and_unused_are_what_was_supplied(cost, minutes, used):
    month = capacity(cost=cost, minutes=minutes, used=used)

    assert month.assigned + month.unused == cost
    assert month.used_minutes + month.unused_minutes == minutes
    assert month.assigned == cost * month.used_minutes / minutes


@given(data=st.data(), services=st.integers(1, 4), users=st.integers(1, 4))
def test_what_comes_out_of_the_steps_is_what_went_in(data, services, users):
    order = [f"service {at}" for at in range(services)]
    names = order + [f"user {at}" for at in range(users)]
    costs = {name: data.draw(money) for name in names}
    bases = {name: {user: data.draw(st.integers(1, 50)) for user in names} for name in order}
    done = step_down(costs=costs, order=order, bases=bases)

    assert sum(done.costs.values()) == sum(costs.values())
    assert all(sum(share.amount for share in step.shares) == step.cost for step in done.steps)
    assert set(done.costs).isdisjoint(order)


@given(data=st.data(), services=st.integers(1, 4))
def test_the_solved_costs_satisfy_their_own_equations(data, services):
    names = [str(at) for at in range(services)]
    costs = {name: data.draw(money) for name in names}
    parts = {one: {two: Fraction(data.draw(st.integers(0, 24)), 100) for two in names} for one in names}
    full = reciprocal(costs=costs, parts=parts)

    for name in names:
        assert full[name] == costs[name] + sum(full[other] * part for other, part in parts[name].items())
    leaving = {name: 1 - sum(users[name] for users in parts.values()) for name in names}
    assert sum(full[name] * leaving[name] for name in names) == sum(costs.values())
