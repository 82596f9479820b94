"""Arrangements that the tests of the books share."""

import pytest

from ledger.actions import charges, commitments, conditional_gifts, limits, returns, standing_decisions
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD, oct


@pytest.fixture
def books(db):
    make.books()


@pytest.fixture
def posted(db):
    return a_little_of_everything()


def a_little_of_everything():
    """Books with gifts, goods, an agreement, a shared line, a correction, unpaid care; the day that was posted."""
    make.books()
    make.opened(make.general(), 20_00)
    leg = make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
    make.gift(leg, 30_00, oct(2), "G", fee_minor=1_20, way="giving_site")
    make.bandage(10_00)
    make.agreed(40)
    make.policy("large_gift_minor", 500_00)
    bounds(leg)
    slips = [
        make.slip(name, party_key=BRINDLE_YARD, goods_minor=goods, traits=frozenset({"boarding"}))
        for name, goods in (("one", 0), ("two", 2_00), ("three", 0), ("four", 0))
    ]
    day = charges.post_day(slips=slips, by=make.MANAGER, today=oct(14), at=make.at(oct(14)))
    charges.correct(
        key=make.key("wrong"),
        charge_id=day.lines[1].charge_id,
        slip=None,
        by=make.MANAGER,
        today=oct(20),
        at=make.at(oct(20)),
        why="Entered twice.",
    )
    returns.give_back(
        key=make.key("went back"),
        gift_id=make.gift(leg, 5_00, oct(20)).id,
        how="refund",
        by=make.BOOKKEEPER,
        today=oct(20),
        at=make.at(oct(20)),
        why="The giver asked.",
    )
    conditional_gifts.receive(
        key=make.key("condition"),
        donor_id=None,
        fund_id=make.general().id,
        amount_minor=7_00,
        condition="Forty dogs are neutered.",
        received_on=oct(20),
        by=make.BOOKKEEPER,
        today=oct(20),
        at=make.at(oct(20)),
    )
    return day


def bounds(leg) -> None:
    """What holds payers back, wide enough to hold nobody back here."""
    limits.limit(
        key=make.key("limit"), fund_id=leg.id, per="animal", most_minor=900_00, from_on=oct(1), by=make.MANAGER
    )
    limits.set_ceiling(plan_key="c" * 32, subject_key=BRACKEN, most_minor=900_00, on=oct(1), by=make.MANAGER)
    commitments.commit(
        key=make.key("set aside"),
        subject_key=BRACKEN,
        amounts={make.general().id: 1_00},
        on=oct(1),
        by=make.MANAGER,
    )
    standing_decisions.decide(
        key=make.key("stands"),
        subject_key="z" * 32,
        take="given",
        from_on=oct(1),
        by=make.MANAGER,
        at=make.at(oct(1)),
        why="Promised.",
    )
