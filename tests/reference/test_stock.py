"""Supplies used at cost, against two published exercises and the law that what came in went out or is left."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.formulas import stock

DAY = date(2026, 10, 1)
METHODS = (stock.FIRST_IN_FIRST_OUT, stock.MOVING_AVERAGE)


def lot(key, quantity, each, **more):
    return stock.Lot(key, DAY, Fraction(quantity), Fraction(quantity) * each, **more)


def use(key, quantity, on=DAY):
    return stock.Use(key, on, Fraction(quantity))


def cost(parts):
    return sum((part.cost for part in parts), Fraction(0))


def held(parts):
    return sum((part.quantity for part in parts), Fraction(0))


def test_first_in_first_out():
    """A standard financial-accounting chapter, published; the figures were taken from our list of checks."""
    events = [lot("a", 10, 91), lot("b", 15, 106), use("u", 20), lot("c", 20, 115), lot("d", 10, 119), use("v", 23)]
    kept = stock.keep(events=events)
    assert (cost(kept.taken["u"]), cost(kept.taken["v"])) == (1970, 2600)
    assert (held(kept.left), cost(kept.left)) == (12, 1420)


def test_moving_average():
    """A worked exercise, published; the figures were taken from our list of checks."""
    events = [lot("a", 15, 75), lot("b", 25, 91), use("u", 23)]
    kept = stock.keep(events=events, method=stock.MOVING_AVERAGE)
    assert (cost(kept.taken["u"]), held(kept.left), cost(kept.left)) == (1955, 17, 1445)


@given(st.sampled_from(METHODS), st.lists(st.tuples(st.integers(0, 3), st.integers(1, 50), st.integers(0, 900))))
def test_what_came_in_went_out_or_is_left(method, steps):
    events, quantity_in, money_in, quantity_back, money_back = [], Fraction(0), Fraction(0), Fraction(0), Fraction(0)
    for number, (what, size, price) in enumerate(steps):
        kept, key = stock.keep(events=events, method=method), str(number)
        undone = {event.of for event in events if isinstance(event, stock.Reversal)}
        open_uses = [name for name, parts in kept.taken.items() if parts and name not in undone]
        if what == 0:
            events.append(lot(key, size, Fraction(price, 7), is_donated=price % 2 == 0))
            quantity_in, money_in = quantity_in + size, money_in + size * Fraction(price, 7)
        elif what == 1 and held(kept.left):
            events.append(use(key, held(kept.left) * Fraction(size, 50)))
        elif what == 2:
            events.append(stock.Count(key, DAY, Fraction(size)))
            quantity_in += max(size - held(kept.left), 0)
        elif what == 3 and open_uses:
            back = kept.taken[open_uses[price % len(open_uses)]]
            events.append(stock.Reversal(key, DAY, open_uses[price % len(open_uses)]))
            quantity_back, money_back = quantity_back + held(back), money_back + cost(back)
    kept = stock.keep(events=events, method=method)
    taken = [part for parts in kept.taken.values() for part in parts]
    assert quantity_in + quantity_back == held(taken) + held(kept.left)
    assert money_in + money_back == cost(taken) + cost(kept.left)
    assert all(part.quantity > 0 and 0 <= part.donated <= part.cost for part in kept.left)


@pytest.mark.parametrize(
    ("event", "words"),
    [
        (use("u", 1, DAY - timedelta(days=1)), "before it arrived"),
        (use("u", 11), "more than is on hand"),
        (stock.Count("c", DAY, Fraction(-1)), "below zero"),
        (stock.Reversal("r", DAY, "u"), "put back"),
        (lot("a", 1, 1), "twice"),
    ],
)
def test_the_impossible_is_named(event, words):
    with pytest.raises(stock.StockImpossible, match=words):
        stock.keep(events=[lot("a", 10, 2), event])


def test_a_unit_that_does_not_convert_is_named():
    with pytest.raises(stock.StockImpossible, match="does not convert"):
        stock.convert(quantity=Fraction(1), unit="roll", to="piece", packs={"box": Fraction(12)})


def test_what_is_put_back_is_the_first_to_go_again():
    later = stock.Lot("b", DAY + timedelta(days=1), Fraction(5), Fraction(20))
    after = DAY + timedelta(days=2)
    events = [lot("a", 5, 2), later, use("u", 5, after), stock.Reversal("r", after, "u"), use("v", 5, after)]
    assert cost(stock.keep(events=events).taken["v"]) == 10
