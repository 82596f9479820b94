"""Restricted money is met first, and only a donor's restriction restricts, against published rules.

FAS 116, paragraph 17 (ASC 958-205-45), published: an expense for which both restricted and unrestricted money is
there meets the restriction first, to the extent of the expense, unless it is directly attributable to another
specific external source. ASU 2016-14, published: two classes of net assets; the sample note foots.
"""

from fractions import Fraction

import pytest
from django.db import IntegrityError, transaction

from ledger.actions import charges
from ledger.formulas.allocation import AGREEMENT, GENERAL, PURPOSE, Payer, allocate
from ledger.models import Fund
from ledger.queries.funds import by_class
from tests.ledger import make
from tests.ledger.make import oct


def amounts(asked, *payers):
    return {part.key: part.amount_minor for part in allocate(asked, payers)}


def test_restricted_money_is_released_first():
    """Published rule, recomputed figures: cost 100, restricted 60, general 500: release 60, general 40."""
    restricted, general = Payer(key=1, rank=PURPOSE, most=60), Payer(key=2, rank=GENERAL, most=500)

    assert amounts(100, restricted, general) == {1: 60, 2: 40}


def test_what_an_agreement_pays_releases_nothing():
    """Published rule: an expense directly attributable to another external source releases no restriction."""
    agreement = Payer(key=0, rank=AGREEMENT, percent=Fraction(1))
    restricted, general = Payer(key=1, rank=PURPOSE, most=60), Payer(key=2, rank=GENERAL, most=500)

    assert amounts(100, agreement, restricted, general) == {0: 100}


@pytest.mark.django_db
def test_the_books_release_restricted_money_first():
    """The same figures, posted: 60 of a fund for dressings and 500 of general money meet an expense of 100."""
    make.books()
    fund = make.fund("Dressings", "purpose", purpose={"dressing"})
    make.gift(fund, 60_00, oct(2))
    make.gift(make.general(), 500_00, oct(2))
    slip = make.slip(asked_minor=100_00, usual_minor=100_00, traits=frozenset({"dressing"}))

    charges.post_day(slips=[slip], by=1, today=oct(14), at=make.at(oct(14)))

    assert (make.by_name()["Dressings"], make.by_name()["General"]) == (0, 460_00)


@pytest.mark.django_db
def test_two_classes_of_net_assets():
    """Published: ASU 2016-14's sample note foots to 115,657 with and 97,677 without donor restrictions.

    The last amount of 3,700 is an earmark of the holder's own (board designated): it stays without restriction.
    """
    make.books()
    with_restrictions = (3_060, 950, 2_000, 2_240, 5_250, 102_157)
    for number, amount in enumerate(with_restrictions):
        fund = make.fund(f"restricted {number}", "purpose", purpose={f"purpose{number}"})
        make.opened(fund, amount)
    make.opened(make.general(), 92_677)
    for number, amount in enumerate((3_700, 1_300)):
        earmark = make.fund(f"earmark {number}", "purpose", purpose={f"own{number}"}, is_restricted=False)
        make.opened(earmark, amount)

    sums = by_class()

    assert (sums.with_restrictions_minor, sums.without_restrictions_minor) == (115_657, 97_677)


@pytest.mark.django_db
def test_general_money_is_never_restricted():
    make.books()

    with pytest.raises(IntegrityError, match="fund_restricted_only_by_its_givers"), transaction.atomic():
        Fund.objects.create(
            key=make.key("wrong"), kind="general", name="Wrong", is_restricted=True, opened_on=oct(1), opened_by=1
        )
