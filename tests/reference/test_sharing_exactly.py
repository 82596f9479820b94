"""Sharing money exactly, against figures published by others.

Largest remainder: Electowiki, "Hamilton method", the apportionment of 60 seats over the 1790 populations of the
United States (published). 1,027.59 at 20/70/5/5: recomputed; M. Fowler's example of handing spare cents out in order
gives another answer (second hand). Half up: Council Regulation (EC) 1103/97, article 5 (second hand). Minor units:
ISO 4217, list of 2026-02-01 (published).
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.formulas.money import CurrencyUnknown, from_minor, minor_digits, to_minor, typed_to_minor
from ledger.formulas.splitting import NothingToSplitBy, largest_remainder

POPULATION_1790 = {
    "VA": 630_560, "MA": 475_327, "PA": 432_879, "NC": 353_523, "NY": 331_589, "MD": 278_514, "CT": 236_841,
    "SC": 206_236, "NJ": 179_570, "NH": 141_822, "VT": 85_533, "GA": 70_835, "KY": 68_705, "RI": 68_446, "DE": 55_540,
}  # fmt: skip
SEATS_OF_60 = {
    "VA": 11, "MA": 8, "PA": 7, "NC": 6, "NY": 6, "MD": 5, "CT": 4, "SC": 3, "NJ": 3, "NH": 2, "VT": 1, "GA": 1,
    "KY": 1, "RI": 1, "DE": 1,
}  # fmt: skip


def test_sixty_seats_over_the_populations_of_1790():
    """Published: Electowiki, Hamilton method."""
    seats = largest_remainder(60, list(POPULATION_1790.values()))

    assert dict(zip(POPULATION_1790, seats, strict=True)) == SEATS_OF_60


def test_cents_at_20_70_5_5():
    """Recomputed; handing the spare cents out in order would give 71,932 and 5,137 (M. Fowler, second hand)."""
    assert largest_remainder(102_759, [20, 70, 5, 5]) == [20_552, 71_931, 5_138, 5_138]


def test_a_tie_goes_to_the_earlier_payer():
    """The house's own completion, so that a reprint never differs."""
    assert largest_remainder(1, [1, 1]) == [1, 0]
    assert largest_remainder(5, [1, 1, 1, 1]) == [2, 1, 1, 1]


@pytest.mark.parametrize(
    ("exact", "minor"),
    [("24.784", 2478), ("24.785", 2479), ("-24.785", -2479), ("-24.784", -2478), ("0.005", 1), ("0.0049999", 0)],
)
def test_half_up_away_from_zero(exact, minor):
    """Second hand: Council Regulation (EC) 1103/97, article 5; half to even would give 24.78 for the second."""
    assert to_minor(Decimal(exact), "EUR") == minor


@pytest.mark.parametrize(
    ("currency", "digits"), [("JPY", 0), ("USD", 2), ("KWD", 3), ("IQD", 3), ("CLF", 4), ("UYW", 4)]
)
def test_minor_units_are_iso_4217s(currency, digits):
    """Published: ISO 4217, list one of 2026-02-01."""
    assert minor_digits(currency) == digits
    assert typed_to_minor(Decimal("7"), currency) == 7 * 10**digits
    assert from_minor(7, currency) == Decimal(7).scaleb(-digits)


def test_an_unknown_currency_is_refused():
    with pytest.raises(CurrencyUnknown, match="is no currency in use"):
        minor_digits("XXY")


weights = st.lists(st.integers(0, 10_000), min_size=1, max_size=8).filter(any)


@given(total=st.integers(-100_000, 100_000), weights=weights)
def test_parts_sum_to_the_whole_and_stay_within_one_unit_of_the_quota(total, weights):
    """A law of the method: every part is its exact quota rounded down or up."""
    parts = largest_remainder(total, weights)

    assert sum(parts) == total
    assert all(
        abs(part * sum(weights) - total * weight) < sum(weights) for part, weight in zip(parts, weights, strict=True)
    )
    assert largest_remainder(-total, weights) == [-part for part in parts]


@pytest.mark.parametrize("weights", [[], [0, 0], [1, -1]])
def test_nothing_to_split_by(weights):
    with pytest.raises(NothingToSplitBy, match="weights of zero or more"):
        largest_remainder(10, weights)
