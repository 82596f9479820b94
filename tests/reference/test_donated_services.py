"""Which donated services are recognized.

ASC 958-605-25-16, published rule, seen in the house's reference notes: recognize when they create or improve a
non-financial asset, or need specialized skill, are given by people who have it and would otherwise be bought. A vet
operating free: yes. The same vet walking dogs: no. A lay volunteer cleaning: no.
"""

import pytest

from ledger.actions import charges
from ledger.formulas.donated_services import recognized
from ledger.queries.activity import activity
from ledger.queries.reports import Scope
from ledger.queries.sums import last_number
from tests.ledger import make
from tests.ledger.make import oct


@pytest.mark.parametrize(
    ("needs_skill", "has_skill", "would_be_bought", "is_recognized"),
    [(True, True, True, True), (False, True, False, False), (False, False, True, False), (True, False, True, False)],
)
def test_a_vet_operating_is_and_the_same_vet_walking_dogs_is_not(
    needs_skill, has_skill, would_be_bought, is_recognized
):
    assert recognized(needs_skill=needs_skill, has_skill=has_skill, would_be_bought=would_be_bought) is is_recognized


def test_what_makes_an_asset_is_recognized_whoever_gives_it():
    assert recognized(needs_skill=False, has_skill=False, would_be_bought=False, makes_an_asset=True)


@pytest.mark.django_db
def test_the_report_tells_procedures_from_the_rest(books):
    """An operation of 100.00 asked at 60.00, and boarding of 42.00 asked at 24.00: 40.00 of 58.00."""
    operation = make.slip("operation", kind="procedures", usual_minor=100_00, asked_minor=60_00, cost_minor=0)
    charges.post_day(slips=[operation, make.slip()], by=1, today=oct(14), at=make.at(oct(14)))

    found = activity(scope=scope()).donated

    assert (found.all_minor, found.skilled_minor) == (58_00, 40_00)


@pytest.fixture
def books(db):
    make.books()


def scope() -> Scope:
    return Scope(from_on=oct(1), to_on=oct(31), as_of=last_number(), digest="")
