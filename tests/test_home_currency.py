"""Amounts are written in the decimals of the house's own currency, before and after it is chosen."""

from datetime import date

import pytest
from django.template import Context, Template

from config import home
from ledger.actions import holder

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def nothing_kept():
    home.forget()
    yield
    home.forget()


def written(amount_minor: int) -> str:
    return Template("{{ amount|minor }} {{ amount|minor_blank }} {{ amount|minor:3 }}").render(
        Context({"amount": amount_minor})
    )


def set_up(currency: str) -> None:
    said = {"kind": "practice", "name": "Larkweir", "number": "", "country": "JP", "fiscal_year_starts": 4}
    holder.set_up(**said, currency=currency, on=date(2026, 4, 1), by=1)


@pytest.mark.parametrize(
    ("currency", "words"),
    [("USD", "1,234.56 1,234.56 123.456"), ("JPY", "123,456 123,456 123.456"), ("KWD", "123.456 123.456 123.456")],
)
def test_an_amount_is_written_in_the_home_currency(currency, words):
    assert written(0).startswith("0.00")

    set_up(currency)

    assert written(123456) == words


def test_the_currency_is_asked_for_once(django_assert_num_queries):
    set_up("USD")
    written(1)

    with django_assert_num_queries(0):
        written(2)
