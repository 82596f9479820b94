"""A fund's page: rolled forward by month, what is set aside, how long it lasts, its budget against what was spent."""

import uuid
from datetime import date

import pytest
from django.urls import reverse

from config.roles import Role
from ledger.actions import budgets, charges, commitments
from ledger.models import BudgetLine, Fund
from ledger.queries.balances import closing_balance
from ledger.queries.budgets import budget
from ledger.queries.fund_page import first_day, fund_page
from ledger.queries.fund_roll import roll_forward
from ledger.queries.set_aside import set_aside
from tests.ledger import make
from tests.ledger.make import BRACKEN, oct
from tests.ledger.test_pages import person, text

pytestmark = pytest.mark.django_db
NOV_14 = date(2026, 11, 14)


@pytest.fixture
def spent(books):
    """General money of 300.00 spends 24.00 on each of five days in October and two in November."""
    make.opened(make.general(), 300_00)
    for number, day in enumerate((oct(10), oct(20), oct(21), oct(22), oct(23), date(2026, 11, 2), date(2026, 11, 9))):
        slip = make.slip(f"day {number}", care_on=day, traits=frozenset({"dressing"} if number < 2 else {"boarding"}))
        charges.post_day(slips=[slip], by=make.MANAGER, today=day, at=make.at(day))
    return make.general()


def page_of(fund: Fund, today: date = NOV_14):
    return fund_page(fund_id=fund.id, from_on=oct(1), to_on=today, today=today)


class TestRollForward:
    def test_has_a_column_for_each_month_and_one_for_all(self, spent):
        found = roll_forward(fund_id=spent.id, from_on=oct(1), to_on=NOV_14)

        assert found.heads == ("October", "November 1 to 14", "Together")
        assert found.opening.amounts == (0, 180_00, 0)
        assert found.came_in.amounts == (300_00, 0, 300_00)
        assert found.went_out.amounts == (120_00, 48_00, 168_00)
        assert found.closing.amounts == (180_00, 132_00, 132_00)

    @pytest.mark.parametrize(("first", "last"), [(oct(1), oct(31)), (oct(21), oct(22)), (date(2026, 1, 1), NOV_14)])
    def test_ends_where_the_days_end(self, spent, first, last):
        """Opening + in - out +/- transfers = closing, and the closing is the kept closing balance of the day."""
        found = roll_forward(fund_id=spent.id, from_on=first, to_on=last)

        for n in range(len(found.heads)):
            parts = found.opening.amounts[n] + found.came_in.amounts[n] - found.went_out.amounts[n]
            assert parts + found.transfers.amounts[n] == found.closing.amounts[n]
        assert found.closing.amounts[-1] == closing_balance(fund_id=spent.id, until=last)

    def test_of_a_page_begins_with_the_month_before_or_with_the_fund(self, spent):
        assert first_day(fund_id=spent.id, today=NOV_14) == oct(1)
        assert first_day(fund_id=spent.id, today=date(2027, 3, 9)) == date(2027, 2, 1)
        assert first_day(fund_id=0, today=NOV_14) is None


class TestOutlook:
    def test_says_how_long_money_lasts_and_when_a_gift_is_at_work(self, spent):
        """E5. By hand: from October 16 to November 14 six times 24.00, 4.80 a day; 132.00 lasts 27.5 days."""
        found = page_of(spent).outlook

        assert (found.spent_minor, found.per_day_minor) == (144_00, 4_80)
        assert (found.balance_until, found.at_work_days) == (date(2026, 12, 11), 27)

    def test_of_available_money_leaves_out_what_is_set_aside(self, spent):
        commitments.commit(
            key=make.key("plan"), subject_key=BRACKEN, amounts={spent.id: 36_00}, on=oct(30), by=1, words="Bracken"
        )

        found = page_of(spent)
        assert (found.set_aside.left_minor, found.available_minor) == (36_00, 96_00)
        assert found.outlook.available_until == date(2026, 12, 4)

    def test_says_nothing_of_days_where_nothing_was_spent(self, books):
        make.opened(make.general(), 300_00)

        found = page_of(make.general()).outlook
        assert (found.spent_minor, found.balance_until, found.at_work_days) == (0, None, None)


class TestSetAside:
    def test_shrinks_as_it_is_spent_and_is_known_for_every_day(self, spent):
        commitments.commit(
            key=make.key("plan"), subject_key=BRACKEN, amounts={spent.id: 60_00}, on=oct(30), by=1, words="Bracken"
        )
        late = make.slip("planned", care_on=date(2026, 11, 12))
        charges.post_day(slips=[late], by=1, today=date(2026, 11, 12), at=make.at(date(2026, 11, 12)))

        found = set_aside(fund_id=spent.id, from_on=oct(1))
        assert found.left_minor == spent.commitments.get().left_minor
        assert [found.on(day) for day in (oct(29), oct(30), NOV_14)] == [0, 60_00, found.left_minor]

    def test_is_drawn_beside_the_balance(self, spent):
        assert len(page_of(spent).picture.table.heads) == 2
        commitments.commit(key=make.key("plan"), subject_key=BRACKEN, amounts={spent.id: 60_00}, on=oct(30), by=1)

        assert page_of(spent).picture.table.heads == ("Day", "balance", "available")


class TestBudget:
    def line(self, fund: Fund, name: str, *matches: str, amount_minor: int = 100_00, **facts) -> BudgetLine:
        said = {"from_on": oct(1), "until_on": oct(31), "on": oct(1), "by": make.BOOKKEEPER, **facts}
        return budgets.add(
            key=make.key(name), fund_id=fund.id, words=name, matches=matches, amount_minor=amount_minor, **said
        )

    def test_counts_care_under_the_first_line_that_fits(self, spent):
        """E6. Two of October's five days carry the trait; the other three are boarding, and November's do not count."""
        self.line(spent, "Dressings", "dressing", amount_minor=40_00)
        self.line(spent, "Nights", "boarding")

        found = budget(fund_id=spent.id)
        assert [(line.words, line.spent_minor, line.left_minor) for line in found.lines] == [
            ("Dressings", 48_00, -8_00),
            ("Nights", 72_00, 28_00),
        ]

    def test_takes_back_what_a_correction_gives_back(self, spent):
        self.line(spent, "Nights", "boarding", until_on=NOV_14)
        before = budget(fund_id=spent.id).spent_minor
        charge = charges.Charge.objects.order_by("-id").first()
        charges.correct(
            key=make.key("wrong"),
            charge_id=charge.id,
            slip=None,
            by=1,
            today=NOV_14,
            at=make.at(NOV_14),
            why="No night.",
        )

        assert budget(fund_id=spent.id).spent_minor == before - 24_00

    @pytest.mark.parametrize(
        ("refusal", "facts"),
        [
            (budgets.AmountMissing, {"amount_minor": 0}),
            (budgets.DaysTurned, {"until_on": date(2026, 9, 30)}),
        ],
    )
    def test_refuses_what_is_no_line(self, spent, refusal, facts):
        with pytest.raises(refusal, match="Nothing was changed"):
            self.line(spent, "Nights", "boarding", **facts)
        assert not BudgetLine.objects.exists()

    def test_refuses_a_line_without_care_and_a_fund_without_money(self, spent):
        with pytest.raises(budgets.CareMissing):
            self.line(spent, "Nothing")
        with pytest.raises(budgets.FundKeepsNoPlan, match="Donated goods holds no money"):
            self.line(Fund.objects.get(kind="goods"), "Goods", "boarding")


def test_budget_and_dates_are_set_on_their_page(client, spent, settings):
    settings.AS_OF = "2026-11-14"
    client.force_login(person(Role.BOOKKEEPER), "django.contrib.auth.backends.ModelBackend")
    address = reverse("ledger:budget", args=[spent.id])
    line = {
        "key": uuid.uuid4().hex,
        "words": "Nights",
        "care": ["boarding"],
        "amount_minor": "100",
        "from_on": "2026-10-01",
        "until_on": "2026-12-31",
    }

    assert client.post(address, line).status_code == 303
    dates = {"use_by": "2026-12-31", "report_on": "2027-01-31"}
    assert client.post(reverse("ledger:budget_dates", args=[spent.id]), dates).status_code == 303
    page = text(client.get(reverse("ledger:fund", args=[spent.id])))
    assert "Nights boarding; Oct 1 to December 31, 2026 100.00 168.00 −68.00" in page
    assert "Report due January 31, 2027" in page
    assert "A gift made today is at work in about 27 days." in page

    gone = {"line_id": BudgetLine.objects.get().pk}
    assert client.post(reverse("ledger:budget_end", args=[spent.id]), gone).status_code == 303
    assert budget(fund_id=spent.id).lines == ()
