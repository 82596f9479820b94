"""The ward in numbers: a census that reconciles, stays longer than most, and the minutes of a day (B1)."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clinic.formulas import stays as formulas
from clinic.models import Animal, Stay
from clinic.queries.length_of_stay import ENOUGH, length_of_stay
from clinic.queries.ward_in_numbers import _census, long_stays, ward_in_numbers
from tests.clinic import make
from tests.ledger.make import oct

pytestmark = pytest.mark.django_db
MAY = date(2026, 5, 1)


def stay(species, came, left=None, **facts):
    animal = Animal.objects.create(number=f"X-{Animal.objects.count()}", species=species)
    return Stay.objects.create(animal=animal, admitted_on=came, discharged_on=left, **facts)


days = st.integers(0, 60)


@given(
    stays=st.lists(st.tuples(st.sampled_from(["dog", "cat"]), days, st.none() | days)),
    first=days,
    length=days,
)
def test_at_the_start_and_came_is_at_the_end_and_left(stays, first, length):
    begin, end = MAY + timedelta(days=first), MAY + timedelta(days=first + length)
    known = [
        (species, MAY + timedelta(days=came), None if stays is None else MAY + timedelta(days=came + stays))
        for species, came, stays in stays
    ]
    known = [row for row in known if row[1] <= end and (row[2] is None or row[2] >= begin)]

    for line in _census(known, begin, end):
        assert line.start + line.came == line.end + line.left
        assert min(line.start, line.came, line.left, line.end) >= 0


def test_a_month_reconciles_with_the_next():
    for came in range(40):
        stay("dog", oct(1) - timedelta(days=came), oct(1) + timedelta(days=came % 20) if came % 3 else None)

    september = ward_in_numbers(first=date(2026, 9, 1), last=date(2026, 9, 30), today=oct(14))
    october = ward_in_numbers(first=oct(1), last=oct(31), today=oct(14))

    assert september.together.end == october.together.start
    assert october.seen_on == oct(14)
    assert sum(count for _, count in october.left_to) == october.together.left


def test_in_and_out_on_one_day_is_a_boarding_day_and_no_night():
    stay("cat", oct(3), oct(3))

    found = ward_in_numbers(first=oct(1), last=oct(14), today=oct(14))

    assert (found.together.came, found.together.left, found.nights, found.boarding_days) == (1, 1, 0, 1)


def test_a_stay_longer_than_nine_in_ten_is_named_with_what_is_usual():
    """By hand, one seen last on day 2: 20/22 x 3/19 = .144 are left after day 18, 20/22 x 2/19 = .096 after day 19."""
    for length in range(1, ENOUGH + 1):
        stay("dog", oct(1) - timedelta(days=200 + length), oct(1) - timedelta(days=200))
    long, _ = stay("dog", oct(1) - timedelta(days=30)), stay("dog", oct(12))

    (found,) = long_stays(today=oct(14), lengths=length_of_stay(as_of=oct(14)))

    assert (found.animal_id, found.days, found.usual_days) == (long.animal_id, 43, 19)


def test_with_few_stays_nothing_is_called_unusual():
    stay("dog", oct(1) - timedelta(days=300))

    assert long_stays(today=oct(14), lengths=length_of_stay(as_of=oct(14))) == ()


def test_the_minutes_of_a_day_are_those_of_levels_and_orders():
    clinic = make.open_clinic()
    clinic.admit("Bracken")

    found = ward_in_numbers(first=oct(1), last=oct(13), today=oct(13))

    levels = [line for line in found.minutes if line.words.startswith("boarding")]
    assert [line.count for line in levels] == [1]
    assert found.all_minutes == sum(line.minutes for line in found.minutes)


def test_the_curve_counts_what_the_spans_count():
    """The same stays, two ways: those still open on a day are those whose night it is."""
    for came in range(12):
        stay("cat", oct(1) + timedelta(days=came % 5), oct(8) if came % 2 else None)

    spans = [formulas.Span(admitted_on=row.admitted_on, discharged_on=row.discharged_on) for row in Stay.objects.all()]
    assert length_of_stay(as_of=oct(9)).together.open == formulas.nights(spans=spans, first=oct(9), last=oct(9))
