"""The arithmetic of the books: what each formula refuses, and the laws that hold for any numbers."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.formulas import chain
from ledger.formulas.allocation import GENERAL, PURPOSE, Payer, allocate
from ledger.formulas.money import TooManyDigits, from_minor, half_up, typed_to_minor
from ledger.formulas.tracing import latest_back, oldest_first
from ledger.models import traits


def test_what_somebody_typed_is_never_rounded():
    with pytest.raises(TooManyDigits, match="finer than the smallest unit of USD"):
        typed_to_minor(Decimal("1.005"), "USD")


@given(st.integers(-(10**12), 10**12), st.sampled_from(["JPY", "USD", "KWD", "CLF"]))
def test_minor_units_and_back_again_is_the_same(minor, currency):
    assert typed_to_minor(from_minor(minor, currency), currency) == minor


@given(st.fractions())
def test_rounding_mirrors_and_never_moves_more_than_a_half(exact):
    assert half_up(-exact) == -half_up(exact)
    assert abs(half_up(exact) - exact) * 2 <= 1


def test_a_charge_never_asks_less_than_nothing():
    with pytest.raises(ValueError, match="never for less"):
        allocate(-1, [])


def test_payers_stand_in_order():
    with pytest.raises(ValueError, match="in the order of their ranks"):
        allocate(1, [Payer(key=1, rank=GENERAL, most=1), Payer(key=2, rank=PURPOSE, most=1)])


waiting = st.lists(st.tuples(st.integers(), st.integers(0, 500)), max_size=8)


@given(amount=st.integers(0, 2_000), money=waiting)
def test_the_oldest_is_used_up_before_the_next_is_touched(amount, money):
    taken, missing = oldest_first(amount, money)

    assert sum(part for _, part in taken) + missing == amount
    assert missing == max(0, amount - sum(left for _, left in money))
    full = [left for _, left in money if left]
    assert [part for _, part in taken[:-1]] == full[: max(len(taken) - 1, 0)]


@given(money=waiting, part=st.integers(0, 100))
def test_what_is_used_and_given_back_leaves_the_oldest_uses(money, part):
    used = [(key, left) for key, left in money if left]
    total = sum(left for _, left in used)
    amount = total * part // 100

    back = latest_back(amount, used)

    assert sum(size for _, size in back) == amount
    assert [key for key, _ in back] == [key for key, _ in reversed(used)][: len(back)]


def test_more_than_was_used_is_never_given_back():
    with pytest.raises(ValueError, match="More would be given back"):
        latest_back(10, [("G", 9)])


def test_canonical_text_tells_contents_apart_and_not_their_order():
    assert chain.canonical({"b": 1, "a": 2}) == chain.canonical({"a": 2, "b": 1})
    assert chain.digest({"a": 1}) != chain.digest({"a": "1"})


@pytest.mark.parametrize("trait", ["", "two words", " "])
def test_a_trait_is_one_word(trait):
    with pytest.raises(traits.TraitUnreadable, match="one word without spaces"):
        traits.pack({trait})
