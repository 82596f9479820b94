"""Nights, boarding days and overlaps against a count of single dates."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.formulas import stays
from clinic.formulas.stays import EndsBeforeItBegins, Span

FIRST, LAST = date(2026, 2, 20), date(2026, 3, 10)
days = st.integers(0, 40).map(lambda number: date(2026, 2, 10) + timedelta(days=number))


@st.composite
def spans(draw):
    admitted = draw(days)
    length = draw(st.none() | st.integers(0, 12))
    return Span(admitted_on=admitted, discharged_on=None if length is None else admitted + timedelta(days=length))


def dates(span, *, boarding):
    """Every date of a stay within the period, one by one; a day in and out counts for boarding alone."""
    found, day = set(), span.admitted_on
    while day <= LAST and (span.discharged_on is None or day < span.discharged_on):
        found.add(day)
        day += timedelta(days=1)
    if boarding and span.discharged_on == span.admitted_on:
        found.add(span.admitted_on)
    return {day for day in found if FIRST <= day <= LAST}


@given(st.lists(spans(), max_size=5))
def test_nights_are_the_dates_on_which_it_slept_here(some):
    assert stays.nights(spans=some, first=FIRST, last=LAST) == sum(len(dates(span, boarding=False)) for span in some)


@given(st.lists(spans(), max_size=5))
def test_a_date_is_boarded_once_however_many_stays_touch_it(some):
    touched = set().union(*(dates(span, boarding=True) for span in some))

    assert stays.boarding_days(spans=some, first=FIRST, last=LAST) == len(touched)


@given(st.lists(spans(), max_size=5))
def test_the_nights_of_the_years_sum_to_all(some):
    by_year = stays.nights_by_year(spans=some, last=LAST)

    assert sum(by_year.values()) == stays.nights(spans=some, first=date(2025, 1, 1), last=LAST)


@given(spans(), spans())
def test_overlapping_does_not_depend_on_the_order(one, other):
    assert stays.overlap(one=one, other=other) == stays.overlap(one=other, other=one)


@given(spans(), spans())
def test_stays_that_share_a_night_overlap(one, other):
    if dates(one, boarding=False) & dates(other, boarding=False):
        assert stays.overlap(one=one, other=other)


def test_a_stay_does_not_end_before_it_begins():
    with pytest.raises(EndsBeforeItBegins, match="The discharge lies before the admission."):
        Span(admitted_on=date(2026, 5, 2), discharged_on=date(2026, 5, 1))
