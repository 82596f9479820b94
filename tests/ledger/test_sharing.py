"""Who pays for care, in order (D1 to D6), and from which day it counts."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger.actions import charges, funds
from ledger.audit import audit
from ledger.formulas.allocation import AGREEMENT, GENERAL, NAMES_ANIMAL, PURPOSE, Payer, allocate
from ledger.formulas.slips import SlipImpossible
from ledger.queries.sharing import preview
from tests.ledger import make
from tests.ledger.make import BALLAST, BRACKEN, BRINDLE_YARD, oct


def shares(*slips) -> list[list[tuple[str, int]]]:
    return [
        [(share.label, share.amount_minor) for share in line.shares] for line in preview(slips=slips, today=oct(14))
    ]


def treated(name="dressing", asked_minor=10_00, **facts):
    traits = facts.pop("traits", frozenset({"dressing", "species:dog"}))
    return make.slip(name, asked_minor=asked_minor, usual_minor=20_00, party_key=BRINDLE_YARD, traits=traits, **facts)


class TestOrder:
    @pytest.fixture
    def rich(self, books):
        """Every kind of fund has 3.00; the agreement pays half of the rest."""
        funds = [
            make.general(),
            make.fund("Yard fund", "partner", party_key=BRINDLE_YARD, is_restricted=False),
            make.fund("Dressings", "purpose", purpose={"dressing"}),
            make.fund("Bracken", "animal", subject_key=BRACKEN),
        ]
        for fund in funds:
            make.gift(fund, 3_00, oct(2))
        make.agreed(10)

    def test_animal_agreement_purpose_partner_general_nobody(self, rich):
        assert shares(treated(asked_minor=15_00)) == [
            [
                ("Bracken", 3_00),
                ("Brindle Yard agreement", 1_20),
                ("Dressings", 3_00),
                ("Yard fund", 3_00),
                ("General", 3_00),
                ("Nobody yet", 1_80),
            ]
        ]

    def test_an_earlier_line_leaves_less_for_the_next(self, rich):
        first, second = shares(treated("one", 3_00), treated("two", 3_00))

        assert first == [("Bracken", 3_00)]
        assert second == [("Brindle Yard agreement", 30), ("Dressings", 2_70)]

    def test_a_fund_pays_only_for_what_it_names(self, rich):
        assert shares(treated(asked_minor=3_00, subject_key=BALLAST, traits=frozenset({"surgery"}))) == [
            [("Brindle Yard agreement", 30), ("Yard fund", 2_70)]
        ]

    def test_inside_a_rank_the_earliest_use_by_then_more_conditions_then_the_older_fund(self, books):
        for name, facts in {
            "older": {"purpose": {"dressing"}},
            "younger": {"purpose": {"dressing"}},
            "more conditions": {"purpose": {"dressing", "species:dog"}},
            "use by": {"purpose": {"dressing"}, "use_by": date(2026, 12, 31)},
        }.items():
            make.gift(make.fund(name, "purpose", **facts), 1_00, oct(2))

        assert [name for name, _ in shares(treated(asked_minor=4_00))[0]] == [
            "use by",
            "more conditions",
            "older",
            "younger",
        ]

    def test_a_closed_fund_pays_nothing(self, books):
        fund = make.fund("Done", "purpose", purpose={"dressing"})
        funds.close(fund_id=fund.id, on=oct(3))

        assert shares(treated(asked_minor=4_00)) == [[("Nobody yet", 4_00)]]


class TestAgreement:
    @pytest.mark.parametrize(
        ("terms", "care_on", "expected"),
        [
            ({}, oct(13), 4_00),
            ({"of": "whole"}, oct(13), 4_00),
            ({"kinds": {"dressing"}}, oct(13), 4_00),
            ({"kinds": {"boarding"}}, oct(13), 4_00),  # the account of the line
            ({"kinds": {"surgery"}}, oct(13), 0),
            ({"from_on": oct(14)}, oct(13), 0),
            ({"until_on": oct(12)}, oct(13), 0),
            ({"until_on": oct(13)}, oct(13), 4_00),
        ],
    )
    def test_pays_for_its_kinds_in_its_days(self, books, terms, care_on, expected):
        make.agreed(40, **terms)

        paid = [minor for label, minor in shares(treated(care_on=care_on))[0] if label == "Brindle Yard agreement"]

        assert sum(paid) == expected

    def test_of_the_whole_counts_what_gifts_paid_already(self, books):
        make.gift(make.fund("Bracken", "animal", subject_key=BRACKEN), 5_00, oct(2))
        make.agreed(40, of="whole")

        assert shares(treated()) == [[("Bracken", 5_00), ("Brindle Yard agreement", 4_00), ("Nobody yet", 1_00)]]


class TestBookDate:
    """`on` is the day of care if every restricted fund had the money on every day since, otherwise today."""

    def on(self, *slips):
        return [line.on for line in preview(slips=slips, today=oct(14))]

    def test_the_day_of_care_where_the_money_was_there(self, books):
        make.gift(make.fund("Dressings", "purpose", purpose={"dressing"}), 10_00, oct(13))

        assert self.on(treated()) == [oct(13)]

    def test_today_where_restricted_money_came_later(self, books):
        make.gift(make.fund("Dressings", "purpose", purpose={"dressing"}), 10_00, oct(14))

        assert self.on(treated()) == [oct(14)]

    def test_general_money_may_come_later(self, books):
        make.gift(make.general(), 10_00, oct(14))

        assert self.on(treated()) == [oct(13)]

    def test_every_day_since_counts_and_so_does_an_earlier_line(self, books):
        make.gift(make.fund("Dressings", "purpose", purpose={"dressing"}), 15_00, oct(2))
        make.gift(make.fund("Surgery", "purpose", purpose={"surgery"}), 9_00, oct(2))

        two = [treated("one"), treated("two", 5_00), treated("three", 9_00, traits=frozenset({"surgery"}))]
        assert self.on(*two) == [oct(13)] * 3

        make.gift(make.fund("More dressings", "purpose", purpose={"dressing"}), 5_00, oct(14))
        assert self.on(treated("one"), treated("two", 10_00)) == [oct(13), oct(14)]

    def test_a_late_line_is_dated_today(self, books):
        make.gift(make.general(), 10_00, oct(2))

        assert self.on(treated(late=True)) == [oct(14)]

    def test_what_it_says_can_be_posted(self, books):
        make.gift(make.fund("Dressings", "purpose", purpose={"dressing"}), 15_00, oct(12))
        make.gift(make.fund("More", "purpose", purpose={"dressing"}), 5_00, oct(14))
        slips = [treated("one"), treated("two"), treated("earlier", 1_00, care_on=oct(11))]

        charges.post_day(slips=slips, by=1, today=oct(14), at=make.at(oct(14)))

        assert audit().findings == ()


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"quantity": Decimal(0)}, "a quantity is above zero"),
        ({"quantity": Decimal("-1")}, "a quantity is above zero"),
        ({"quantity": Decimal("1.0001")}, "three digits at most"),
        ({"quantity": Decimal(10**6)}, "at most 100,000"),
        ({"asked_minor": 5000}, "never above the usual fee"),
        ({"cost_minor": -1}, "are zero or more"),
        ({"kind": "gifts"}, "is no kind of care"),
        ({"words": ""}, "says what was done"),
    ],
)
def test_a_slip_that_cannot_be_is_refused(facts, sentence):
    with pytest.raises(SlipImpossible, match=sentence):
        make.slip(**facts)


payers = st.lists(
    st.tuples(
        st.sampled_from([NAMES_ANIMAL, AGREEMENT, PURPOSE, GENERAL]),
        st.integers(0, 5_000),
        st.fractions(Fraction(1, 100), 1),
        st.booleans(),
    ),
    max_size=6,
)


@given(asked=st.integers(0, 10_000), terms=payers)
def test_shares_sum_to_the_charge_and_nobody_pays_more_than_it_has(asked, terms):
    """D6: to the minor unit, whatever the payers."""
    ordered = [
        Payer(key=key, rank=rank, percent=percent, of_whole=whole)
        if rank == AGREEMENT
        else Payer(key=key, rank=rank, most=most)
        for key, (rank, most, percent, whole) in enumerate(sorted(terms))
    ]

    parts = allocate(asked, ordered)

    most = {payer.key: payer.most for payer in ordered if payer.most is not None}
    assert sum(part.amount_minor for part in parts) == asked
    assert all(0 < part.amount_minor <= most.get(part.key, asked) for part in parts)
    assert [part.rank for part in parts] == sorted(part.rank for part in parts)


class Undo(Exception):
    """Takes back what one generated day has written."""


@pytest.mark.random
@pytest.mark.django_db
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    gifts=st.lists(st.tuples(st.integers(1, 3_000), st.integers(1, 14)), max_size=6),
    lines=st.lists(st.tuples(st.integers(0, 2_000), st.integers(1, 14), st.booleans()), min_size=1, max_size=6),
    percent=st.integers(1, 100),
)
def test_any_day_posts_as_previewed_and_leaves_the_books_whole(gifts, lines, percent):
    try:
        with transaction.atomic():
            make.books()
            fund = make.fund("Dressings", "purpose", purpose={"dressing"})
            make.agreed(percent)
            for number, (amount, day) in enumerate(gifts):
                make.gift(fund if number % 2 else make.general(), amount, oct(day), f"gift {number}")
            slips = [
                treated(f"line {number}", asked, care_on=oct(day), late=late)
                for number, (asked, day, late) in enumerate(lines)
            ]
            shown = preview(slips=slips, today=oct(14))
            posted = charges.post_day(slips=slips, by=1, today=oct(14), at=make.at(oct(14)))
            assert [line.on for line in shown] == [line.on for line in posted.lines]
            assert sum(line.nobody_minor for line in shown) == posted.nobody_minor
            assert audit().findings == ()
            raise Undo
    except Undo:
        pass
