"""Reports of a period, as of an entry: each foots, and each agrees with the postings read one by one."""

from datetime import date, timedelta

import pytest

from ledger.actions import charges
from ledger.models import Entry, Posting
from ledger.models.accounts import effect
from ledger.queries import activity, functional_expenses, reports, roll_forward, trial_balance
from tests.ledger import make
from tests.ledger.make import oct

pytestmark = pytest.mark.django_db
OCTOBER = {"from_on": oct(1), "to_on": oct(31)}


def net(fund_id: int, until: date, as_of: int) -> int:
    rows = Posting.objects.filter(fund=fund_id, on__lte=until, entry_id__lte=as_of)
    return sum(effect(row.debit_id, row.credit_id) * row.amount_minor for row in rows)


class TestRollForward:
    def test_of_every_fund_closes_at_its_balance(self, posted):
        """Opening + in - out +/- transfers = closing, for every fund, on any two days and as of any entry."""
        last = reports.scope(**OCTOBER).as_of
        for first, end in ((1, 31), (2, 14), (14, 20), (21, 31)):
            for as_of in (last, last - 1, last - 3, 2):
                found = roll_forward.roll_forward(scope=reports.scope(from_on=oct(first), to_on=oct(end), as_of=as_of))
                for line in found.together.lines:
                    assert line.closing_minor == net(line.fund_id, oct(end), as_of)
                    assert line.opening_minor == net(line.fund_id, oct(first) - timedelta(days=1), as_of)

    def test_groups_funds_and_counts_those_at_rest(self, posted):
        make.fund("Quiet", "purpose", purpose={"surgery"})

        found = roll_forward.roll_forward(scope=reports.scope(**OCTOBER))

        assert [line.name for line in found.free.lines] == ["General"]
        assert [line.name for line in found.restricted.lines] == ["Bracken's leg"]
        assert [line.name for line in found.aside.lines] == [
            "Brindle Yard agreement", "Donated goods", "Given by the clinic",
        ]  # fmt: skip
        assert found.at_rest == 1
        assert found.together.transfers_minor == 0


class TestTrialBalance:
    def test_debits_and_credits_come_to_the_same(self, posted):
        for first, end in ((1, 31), (14, 20), (21, 31)):
            found = trial_balance.trial_balance(scope=reports.scope(from_on=oct(first), to_on=oct(end)))
            assert found.debits_minor == found.credits_minor
            assert found.debit_minor == found.credit_minor

    def test_carries_on_what_is_owned_and_counts_income_anew(self, books):
        make.opened(make.general(), 100_00)
        make.gift(make.general(), 7_00, oct(20))

        found = trial_balance.trial_balance(scope=reports.scope(from_on=oct(10), to_on=oct(31)))

        told = {line.name: (line.opening_minor, line.closing_minor) for line in found.lines}
        assert told == {
            "Bank": (100_00, 107_00),
            "Net assets at the beginning": (-100_00, -100_00),
            "Gifts": (0, -7_00),
        }


class TestActivity:
    def test_ends_where_the_funds_end(self, posted):
        found = activity.activity(scope=reports.scope(**OCTOBER))
        roll = roll_forward.roll_forward(scope=reports.scope(**OCTOBER))

        assert found.closing.with_minor == roll.restricted.closing_minor
        assert found.closing.without_minor == roll.free.closing_minor + roll.aside.closing_minor
        assert found.released.together_minor == 0
        assert found.cash.closing_minor == make.account("bank")


class TestFunctionalExpenses:
    def test_comes_to_what_the_activity_spent(self, posted):
        """Every expense has one function: both reports read the same postings by other ways."""
        scope = reports.scope(**OCTOBER)
        found = functional_expenses.functional_expenses(scope=scope).table

        assert found.together.together_minor == activity.activity(scope=scope).went_out.together_minor
        assert sum(line.together_minor for line in found.lines) == sum(found.together.amounts)

    def test_care_on_a_path_is_told_from_other_care(self, books):
        """At the usual fee: what is not asked of it is a donated service, in the activity as here."""
        make.gift(make.general(), 500_00, oct(2), fee_minor=9_00, way="giving_site")
        slips = (make.slip("path", plan_key="plan"), make.slip("other", usual_minor=60_00))
        charges.post_day(slips=list(slips), by=make.MANAGER, today=oct(14), at=make.at(oct(14)))

        found = functional_expenses.functional_expenses(scope=reports.scope(**OCTOBER)).table

        assert dict(zip(found.functions, found.together.amounts, strict=True)) == {
            "Care on a path": 42_00, "Other care": 60_00, "Management": 0, "Fundraising": 9_00,
        }  # fmt: skip


def test_a_report_as_of_an_entry_does_not_change_when_more_is_posted(posted):
    """Numbers up to N are a snapshot."""
    number = Entry.objects.count()
    before = [
        ask(scope=reports.scope(**OCTOBER, as_of=number))
        for ask in (roll_forward.roll_forward, trial_balance.trial_balance, activity.activity)
    ]
    make.gift(make.general(), 7_00, oct(2), "dated back")

    after = [
        ask(scope=reports.scope(**OCTOBER, as_of=number))
        for ask in (roll_forward.roll_forward, trial_balance.trial_balance, activity.activity)
    ]
    assert after == before
