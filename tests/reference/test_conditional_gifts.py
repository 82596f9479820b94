"""Money that came with a condition, against the published rule.

FASB Accounting Standards Update 2018-08 (Topic 958), published rule: with a barrier and a right of return, cash
received is a refundable advance, a liability, until the condition is substantially met; then it is revenue. The figures
are recomputed: they follow from the rule alone.
"""

import pytest

from ledger.models import Inflow
from tests.ledger import make
from tests.ledger.conftest import books  # noqa: F401  the fixture
from tests.ledger.make import oct
from tests.ledger.test_gifts import failed, met, promised

pytestmark = pytest.mark.django_db


def standing() -> tuple[int, int, int, int]:
    """Bank, refundable advances, gifts as income, net assets of general money."""
    return (
        make.account("bank"),
        -make.account("refundable_advances"),
        -make.account("gifts"),
        make.by_name()["General"],
    )


def test_cash_is_a_liability_then_revenue_on_the_day_the_condition_is_met(books):  # noqa: F811
    advance = promised(5_000_00)
    before = standing()

    met(advance, on=oct(9))

    assert before == (5_000_00, 5_000_00, 0, 0)
    assert standing() == (5_000_00, 0, 5_000_00, 5_000_00)
    assert Inflow.objects.get().received_on == oct(9)


def test_cash_that_is_sent_back_never_was_revenue(books):  # noqa: F811
    failed(promised(5_000_00))

    assert standing() == (0, 0, 0, 0)
    assert not Inflow.objects.exists()
