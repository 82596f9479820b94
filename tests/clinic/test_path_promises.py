"""What no care given and no gift received may move: what a path's page says about the future."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.clinic import make
from tests.clinic.make import DAY
from tests.clinic.test_paths import decide, grafts, page, plan  # noqa: F401

pytestmark = [pytest.mark.django_db, pytest.mark.random]

given_care = st.lists(
    st.tuples(st.sampled_from(["dressing", "tablets", "surgery"]), st.integers(0, 3), st.integers(1, 9)), max_size=8
)


@given(given_care)
@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_what_is_spent_is_shown_and_never_changes_what_is_said_about_the_future(planned, care):
    clinic, path = planned
    before = page(path)

    for service, back, quantity in care:
        clinic.give(
            path.animal, getattr(clinic, service), on=DAY - timedelta(days=back), quantity=str(Decimal(quantity))
        )
    after = page(path)

    assert (after.ahead, after.sensitivity, after.extra, after.learned) == (
        before.ahead,
        before.sensitivity,
        before.extra,
        before.learned,
    )
    assert after.so_far.asked_minor >= before.so_far.asked_minor
    assert (after.so_far.asked_minor > before.so_far.asked_minor) == bool(care)


@pytest.fixture
def planned(grafts, clinic):  # noqa: F811
    made = plan(clinic, grafts, clinic.admit(on=date(2026, 10, 3)).animal)
    decide(clinic, made, "staged")
    return clinic, made


@pytest.fixture
def clinic():
    return make.open_clinic(percent=None)
