"""Two classes of net assets, the roll-forward of funds and conditional money, in the reports that the house prints.

ASU 2016-14, the sample note on net assets, published: it foots, with restrictions 3,060 + 950 + 2,000 + 2,240 + 5,250
+ 102,157 = 115,657, without 92,677 + 3,700 + 1,300 = 97,677. Charities SORP, module 2, published rule: closing =
opening + income - expenditure +/- transfers for every fund, and transfers sum to zero over all funds. ASU 2018-08,
published rule: conditional cash is a liability until its condition is met. FAS 116, paragraph 17, published rule: an
expense releases the restriction whose money met it. FASB's example "Not-for-Profit Entity A", column totals published:
13,296 + 8,649 + 5,837 + 2,038 + 2,150 = 31,970, of which salaries 15,115 and grants 4,750.
Amounts other than these are our own.
"""

import pytest

from ledger.actions import charges, conditional_gifts, donors, leftovers, transfers
from ledger.audit import audit
from ledger.formulas.functional_expenses import cross_table
from ledger.models import Fund
from ledger.queries import activity, reports, roll_forward, trial_balance
from ledger.queries.balances import balances
from tests.ledger import make
from tests.ledger.make import oct

pytestmark = pytest.mark.django_db
WITH, WITHOUT = (3_060, 950, 2_000, 2_240, 5_250, 102_157), (92_677, 3_700, 1_300)
COMMON = {"by": make.BOOKKEEPER, "today": oct(20), "at": make.at(oct(20))}


def scope(first: int = 1, last: int = 31):
    return reports.scope(from_on=oct(first), to_on=oct(last))


@pytest.fixture
def books():
    make.books()


@pytest.fixture
def note(books):
    """The note's amounts as funds: the house's own earmarks are purpose funds that nobody restricted."""
    for number, amount in enumerate(WITH):
        make.opened(make.fund(f"With {number}", "purpose", purpose={f"purpose{number}"}), amount * 100)
    make.opened(make.general(), WITHOUT[0] * 100)
    for number, amount in enumerate(WITHOUT[1:]):
        fund = make.fund(f"Earmark {number}", "purpose", is_restricted=False, purpose={f"earmark{number}"})
        make.opened(fund, amount * 100)


def test_the_note_foots_in_both_classes(note):
    """Published: 115,657 with and 97,677 without; the house's own earmark stays without."""
    found = activity.activity(scope=scope()).closing
    roll = roll_forward.roll_forward(scope=scope())

    assert (found.with_minor, found.without_minor) == (115_657_00, 97_677_00)
    assert (roll.restricted.closing_minor, roll.free.closing_minor) == (115_657_00, 97_677_00)
    assert sum(WITH) == 115_657
    assert sum(WITHOUT) == 97_677


def test_an_expense_releases_what_restricted_money_met(note):
    """Published rule, own figures: 40.00 of dressings out of the 950 leaves that class and is released to the other."""
    slip = make.slip(
        "dressing", kind="supplies", traits=frozenset({"purpose1"}), cost_minor=0, usual_minor=40_00, asked_minor=40_00
    )
    charges.post_day(slips=[slip], by=make.MANAGER, today=oct(14), at=make.at(oct(14)))

    found = activity.activity(scope=scope())

    assert (found.released.without_minor, found.released.with_minor) == (40_00, -40_00)
    assert (found.went_out.without_minor, found.went_out.with_minor) == (40_00, 0)
    assert (found.closing.with_minor, found.closing.without_minor) == (115_617_00, 97_677_00)


@pytest.fixture
def moved(books):
    """Gifts, care, a transfer out of a reserve, and what was left of a restricted fund, over three weeks."""
    reserve = make.fund("Legacy", "reserve", is_restricted=False)
    leg = make.fund("Bracken's leg", "animal", subject_key=make.BRACKEN, leftover_to=make.general().id)
    make.opened(reserve, 500_00)
    make.gift(leg, 100_00, oct(2))
    make.gift(make.general(), 30_00, oct(5))
    for day in (7, 12):
        slip = make.slip(f"day {day}", care_on=oct(day))
        charges.post_day(slips=[slip], by=make.MANAGER, today=oct(day), at=make.at(oct(day)))
    transfers.transfer(
        key=make.key("feed"),
        from_fund_id=reserve.id,
        to_fund_id=make.general().id,
        amount_minor=200_00,
        on=oct(15),
        **COMMON,
    )
    leftovers.move(
        key=make.key("left"), fund_id=leg.id, to_fund_id=make.general().id, why="Bracken went home.", **COMMON
    )


@pytest.mark.parametrize(("first", "last"), [(1, 31), (1, 14), (8, 15), (15, 20), (21, 31)])
def test_every_fund_rolls_forward_and_transfers_sum_to_zero(moved, first, last):
    """Published rule: closing = opening + income - expenditure +/- transfers; transfers over all funds are zero."""
    found = roll_forward.roll_forward(scope=scope(first, last)).together
    before = {line.fund_id: line.closing_minor for line in _until(first - 1)}

    for line in found.lines:
        assert line.opening_minor == before.get(line.fund_id, 0)
        expected = line.opening_minor + line.in_minor - line.out_minor + line.transfers_minor
        assert expected == {row.fund_id: row.closing_minor for row in _until(last)}[line.fund_id]
    assert found.transfers_minor == 0


def _until(day: int):
    """Every fund's closing at a day, rolled forward from the beginning of the books."""
    return roll_forward.roll_forward(scope=scope(1, day)).together.lines if day else ()


def test_the_last_closing_is_each_funds_balance(moved):
    """By hand: general 30.00 + 200.00 + 52.00 left of the leg's 100.00; the legacy 300.00."""
    lines = {line.name: line for line in roll_forward.roll_forward(scope=scope()).together.lines}

    assert {name: line.closing_minor for name, line in lines.items() if line.closing_minor} == {
        "General": 282_00,
        "Legacy": 300_00,
    }
    assert {name: line.transfers_minor for name, line in lines.items() if line.transfers_minor} == {
        "General": 252_00,
        "Legacy": -200_00,
        "Bracken's leg": -52_00,
    }
    kept = balances()
    assert all(line.closing_minor == kept[line.fund_id] for line in lines.values())
    assert audit().findings == ()


def test_conditional_money_is_owed_until_its_condition_is_met(books):
    """Published rule, own figures: a liability in the trial balance first, income on the day the condition is met."""
    donor = donors.add(key=make.key("trust"), name="Larkweir Trust", kind="organization", on=oct(1), by=1)
    fund = Fund.objects.get(kind="general")
    advance = conditional_gifts.receive(
        key=make.key("grant"),
        donor_id=donor.id,
        fund_id=fund.id,
        amount_minor=2_000_00,
        condition="Forty dogs are neutered.",
        received_on=oct(2),
        **COMMON,
    )

    assert _told() == {"Bank": 2_000_00, "Refundable advances": -2_000_00}
    assert activity.activity(scope=scope()).closing.together_minor == 0

    conditional_gifts.meet(key=make.key("met"), advance_id=advance.id, on=oct(9), why="The fortieth.", **COMMON)

    assert {name: minor for name, minor in _told().items() if minor} == {"Bank": 2_000_00, "Gifts": -2_000_00}
    assert activity.activity(scope=scope(1, 8)).closing.together_minor == 0
    assert activity.activity(scope=scope(9, 31)).closing.together_minor == 2_000_00


def _told() -> dict[str, int]:
    return {line.name: line.closing_minor for line in trial_balance.trial_balance(scope=scope()).lines}


def test_the_example_of_functional_expenses_foots_both_ways():
    """Published are the five column totals and two row totals; how a row lies over the columns is our own."""
    columns = {"Program A": 13_296, "Program B": 8_649, "Program C": 5_837, "Management": 2_038, "Fundraising": 2_150}
    rows, spent, left = {"Salaries": 15_115, "Grants": 4_750, "Other": 12_105}, [], dict(columns)
    for row, amount in rows.items():
        for column in columns:
            part = min(amount, left[column])
            left[column] -= part
            amount -= part
            spent.append((row, column, part))

    found = cross_table(natures=tuple(rows), functions=tuple(columns), spent=spent)

    assert found.together.amounts == tuple(columns.values())
    assert found.together.together_minor == 31_970
    assert [line.together_minor for line in found.lines] == [15_115, 4_750, 12_105]
