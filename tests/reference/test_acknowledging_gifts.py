"""What a gift's paper must say, against the published rules of three countries.

Sources, each with how it was seen: IRS, "Charitable contributions: written acknowledgments" (published); IRS, "Quid pro
quo contributions" (published); Rev. Proc. 2024-40 for 2025 (amounts second hand, the two tests from memory); HM Revenue
& Customs, Gift Aid (published); Canada Revenue Agency, split receipting (published). Nothing here is tax advice.
"""

import pytest

from ledger.formulas import acknowledgment as rules


@pytest.mark.parametrize(("amount", "due"), [(249_99, False), (250_00, True), (100_00, False), (10_000_00, True)])
def test_united_states_a_single_gift_of_250_needs_a_written_acknowledgment(amount, due):
    assert rules.written_is_due(country="US", year=2025, amount_minor=amount) is due


def test_united_states_four_gifts_of_100_are_not_added_up():
    assert [rules.written_is_due(country="US", year=2025, amount_minor=100_00) for _ in range(4)] == [False] * 4


@pytest.mark.parametrize(
    ("payment", "benefit", "due"),
    [(75_00, 40_00, False), (75_01, 40_00, True), (100_00, 40_00, True), (100_00, 0, False)],
)
def test_united_states_a_payment_above_75_with_a_benefit_is_disclosed(payment, benefit, due):
    said = {"payment_minor": payment, "benefit_minor": benefit}

    assert rules.disclosure_is_due(country="US", year=2025, **said) is due


@pytest.mark.parametrize(
    ("payment", "benefit", "gift"),
    [(100_00, 40_00, 60_00), (30_00, 40_00, 0), (100_00, 0, 100_00)],
)
def test_united_states_the_gift_part_is_what_exceeds_the_benefit_and_never_negative(payment, benefit, gift):
    part = rules.gift_part(country="US", year=2025, payment_minor=payment, benefit_minor=benefit)

    assert part.gift_minor == gift


@pytest.mark.parametrize(
    ("payment", "benefit", "cost", "gift"),
    [
        (1_000_00, 25_00, None, 975_00),  # above 2 %: the whole benefit counts, not what exceeds the limit
        (1_000_00, 20_00, None, 1_000_00),  # at the limit
        (10_000_00, 136_00, None, 10_000_00),
        (10_000_00, 136_01, None, 9_863_99),  # the lesser of 2 % and 136
        (68_00, 20_00, 13_60, 68_00),
        (67_99, 20_00, 13_60, 47_99),
        (68_00, 20_00, 13_61, 48_00),
    ],
)
def test_united_states_token_benefits_of_2025(payment, benefit, cost, gift):
    said = {"payment_minor": payment, "benefit_minor": benefit, "items_cost_minor": cost}

    assert rules.gift_part(country="US", year=2025, **said).gift_minor == gift


def test_a_year_whose_limits_are_not_in_the_table_counts_the_benefit_whole():
    assert rules.gift_part(country="US", year=2031, payment_minor=1_000_00, benefit_minor=1).gift_minor == 999_99


@pytest.mark.parametrize(
    ("gift", "declared", "goods", "claim"),
    [(1_00, True, False, 25), (100_00, True, False, 25_00), (100_00, False, False, 0), (100_00, True, True, 0)],
)
def test_united_kingdom_gift_aid_is_25_pence_for_each_pound_with_a_declaration(gift, declared, goods, claim):
    said = {"gift_minor": gift, "is_declared": declared, "is_goods": goods}

    assert rules.may_be_claimed(country="GB", year=2025, **said) == claim
    assert rules.may_be_claimed(country="US", year=2025, **said) == 0


@pytest.mark.parametrize(
    ("gift", "advantage", "eligible"),
    [
        (100_00, 50_00, 50_00),
        (200_00, 175_00, None),
        (5_000_00, 250_00, 4_750_00),
        (100_00, 80_00, 20_00),  # 80 % is not above 80 %
        (100_00, 80_01, None),
        (100_00, 10_00, 100_00),  # the lesser of 75 and 10 %
        (100_00, 10_01, 89_99),
        (1_000_00, 75_00, 1_000_00),
        (1_000_00, 75_01, 924_99),
    ],
)
def test_canada_split_receipting(gift, advantage, eligible):
    part = rules.gift_part(country="CA", year=2025, payment_minor=gift, benefit_minor=advantage)

    assert part.gift_minor == eligible


def test_a_gift_in_kind_is_described_and_not_valued_where_that_is_the_rule():
    assert [rules.rules_of(country=code, year=2025).goods_are_valued for code in ("US", "GB", "CA", "")] == [
        False,
        False,
        True,
        False,
    ]
