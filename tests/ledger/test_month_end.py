"""A month's end: what is open is listed, decided or carried by name, and the closing keeps what stood (H3, D5)."""

from datetime import date

import pytest
from django.db.models import Q

from ledger.actions import bank_matches, carrying, charges, donors, periods, reversals, spending
from ledger.audit import audit
from ledger.models import Carried, ClosingBalance, Posting
from ledger.posting import KeyUsedBefore
from ledger.queries import month_end
from ledger.queries.bank_proposals import proposals
from ledger.queries.sums import balances_at, last_number, moved
from tests.ledger import bank, make
from tests.ledger.make import BALLAST, BRACKEN, oct
from tests.ledger.test_attacks import rows

pytestmark = pytest.mark.django_db
OCT_31, NOV_1, NOV_2 = oct(31), date(2026, 11, 1), date(2026, 11, 2)


@pytest.fixture
def unpaid(books):
    """Two animals whose care nobody has paid: 24.00 each, less the 10.00 that general money had."""
    make.opened(make.general(), 10_00)
    slips = [make.slip("b"), make.slip("a", subject_key=BALLAST, subject_words="Ballast", care_on=oct(14))]
    charges.post_day(slips=slips, by=make.MANAGER, today=oct(15), at=make.at(oct(15)))


def carried(*subjects: str, name: str = "carry", why: str = "", today: date = NOV_2):
    return carrying.carry(
        key=make.key(name),
        things=[f"care {subject}" for subject in subjects or (BRACKEN, BALLAST)],
        through_on=OCT_31,
        why=why,
        by=make.MANAGER,
        today=today,
        at=make.at(today),
    )


def refused(kind, action) -> str:
    before = rows()

    with pytest.raises(kind) as refusal:
        action()

    assert rows() == before
    return str(refusal.value)


class TestCareNobodyHasPaid:
    """D5: at month's end each row is decided or carried, by name."""

    def test_keeps_a_month_from_closing_until_somebody_has_looked_at_it(self, unpaid):
        said = refused(periods.CareUndecided, lambda: make.closed(OCT_31, today=NOV_2))

        assert said == (
            "Care nobody has paid is open for Bracken, Ballast. Nothing was closed. "
            "Find a payer for each, or carry it into the next month, by name."
        )

    def test_carried_by_name_lets_it_close(self, unpaid):
        carried(BRACKEN, name="one", why="The partner decides in November.")
        assert [row.animal.subject_words for row in month_end.undecided(through_on=OCT_31)] == ["Ballast"]
        carried(BALLAST, name="two")

        make.closed(OCT_31, today=NOV_2)
        line = month_end.carried_through(through_on=OCT_31)[0]
        assert (line.what, line.amount_minor, line.why) == ("care", 14_00, "The partner decides in November.")
        assert audit().findings == ()

    def test_can_be_carried_all_at_once_and_only_once(self, unpaid):
        assert {row.amount_minor for row in carried()} == {14_00, 24_00}
        assert {row.amount_minor for row in carried()} == {14_00, 24_00}
        assert Carried.objects.count() == 2
        assert "somebody has settled it" in refused(carrying.NothingToCarry, lambda: carried(name="again"))

    def test_with_a_key_and_other_words_is_refused(self, unpaid):
        carried()

        refused(KeyUsedBefore, lambda: carried(why="Something else."))
        refused(KeyUsedBefore, lambda: carried(BRACKEN, "c" * 32))

    def test_that_grows_after_it_was_carried_is_open_again(self, unpaid):
        carried()
        late = make.slip("late", care_on=oct(20))
        charges.post_day(slips=[late], by=make.MANAGER, today=NOV_2, at=make.at(NOV_2))

        assert [row.animal.amount_minor for row in month_end.undecided(through_on=OCT_31)] == [38_00]

    def test_is_carried_only_when_the_month_is_over_and_before_it_is_closed(self, unpaid):
        refused(carrying.MonthNotOver, lambda: carried(today=OCT_31))
        carried()
        make.closed(OCT_31, today=NOV_2)
        refused(carrying.MonthNotOver, lambda: carried(name="later"))

    def test_of_the_next_month_does_not_count(self, unpaid):
        assert [row.animal.subject_words for row in month_end.undecided(through_on=oct(13))] == ["Bracken"]


class TestOpenItems:
    def test_of_a_month_with_a_little_of_everything(self, posted):
        """By hand: 30.00 less its fee of 1.20 is at the site; of 10.00 in goods a correction gave 2.00 back."""
        found = month_end.open_items(from_on=oct(1), through_on=OCT_31)

        assert [(row.fund_name, row.amount_minor) for row in found.at_sites] == [("Bracken's leg", 28_80)]
        assert found.goods_minor == 10_00
        assert [(row.words, row.note) for row in found.taken_back] == [("gift returned", "The giver asked.")]
        assert found.receipts.gifts == 0
        assert [row.animal.subject_words for row in found.undecided] == ["Bracken"]

    def test_a_gift_taken_back_is_told_with_why(self, books):
        gift = make.gift(make.general(), 5_00, oct(4))
        reversals.take_back(
            key=make.key("back"), number=gift.entry_id, by=1, today=oct(6), at=make.at(oct(6)), why="Typed twice."
        )

        found = month_end.open_items(from_on=oct(1), through_on=OCT_31).taken_back
        assert [(row.words, row.note) for row in found] == [("reversal", "Typed twice.")]

    def test_a_gift_of_a_known_donor_is_due_a_receipt(self, books):
        donor = donors.add(key=make.key("d"), name="Imke Sandoval", on=oct(1), by=2)
        make.gift(make.general(), 5_00, oct(4), donor_id=donor.id)
        make.gift(make.general(), 7_00, oct(5), donor_id=donor.id)
        make.gift(make.general(), 9_00, oct(5))

        due = month_end.open_items(from_on=oct(1), through_on=OCT_31).receipts
        assert (due.gifts, due.donors, due.amount_minor) == (2, 1, 12_00)


@pytest.fixture
def banked(books, settings, tmp_path):
    """At the bank 61.50 went out and 20.00 came in, and nothing in the books stands for either."""
    settings.AS_OF, settings.MEDIA_ROOT = f"{NOV_2}", tmp_path
    make.opened(make.general(), 1_000_00)
    bank.taken(bank.camt([(oct(6), -61_50, "Hearth Insurance", "fees"), (OCT_31, 20_00, "x", "y")], opening=1_000_00))


def open_now(through_on: date = OCT_31):
    return month_end.open_items(from_on=oct(1), through_on=through_on)


def carry(thing: str, name: str = "carry", through_on: date = OCT_31, why: str = "") -> None:
    said = {"through_on": through_on, "by": make.BOOKKEEPER, "today": NOV_2, "at": make.at(NOV_2)}
    carrying.carry(key=make.key(name), things=[thing], why=why, **said)


class TestLinesOfTheBank:
    """H3: what is unmatched is settled, or carried by name; what comes afterwards is open again."""

    def test_are_carried_with_their_count_and_sum(self, banked):
        carry("bank", why="The insurer's letter is on its way.")

        line = open_now().carried_as("bank")
        assert (line.told, line.amount_minor, line.why) == (
            "lines of the bank with nothing in the books: 2",
            -41_50,
            "The insurer's letter is on its way.",
        )

    def test_that_come_later_are_open_until_they_are_carried_too(self, banked):
        carry("bank")
        bank.taken(bank.camt([(OCT_31, -5_00, "Vane & sons", "late")], opening=958_50))
        assert open_now().carried_as("bank") is None

        carry("bank", name="again")
        assert open_now().carried_as("bank").count == 3

    def test_with_their_entries_leave_nothing_to_carry_but_a_statement_that_is_missing(self, banked):
        spending.spend(
            key=make.key("s"), kind="management", fund_id=make.general().id, amount_minor=61_50, words="insurance",
            on=oct(6), by=make.BOOKKEEPER, today=NOV_2, at=make.at(NOV_2),
        )  # fmt: skip
        make.gift(make.general(), 20_00, OCT_31)
        found = [one for _, one in proposals(today=NOV_2)]
        hand = bank_matches.Hand(by=make.BOOKKEEPER, today=NOV_2, at=make.at(NOV_2))
        bank_matches.confirm(tokens={one.line.line_id: one.token for one in found}, hand=hand)

        assert "somebody has settled it" in refused(carrying.NothingToCarry, lambda: carry("bank"))
        carry("bank", through_on=NOV_1)
        assert open_now(NOV_1).carried_as("bank").told == "statement of the bank to bring"


def summed(on: date, as_of: int) -> dict:
    """Every posting read one by one."""
    standing: dict = {}
    for row in Posting.objects.filter(Q(on__lte=on), entry_id__lte=as_of):
        for account, minor in ((row.debit_id, row.amount_minor), (row.credit_id, -row.amount_minor)):
            standing[row.fund_id, account] = standing.get((row.fund_id, account), 0) + minor
    return {key: minor for key, minor in standing.items() if minor}


class TestAClosingKeepsWhatStood:
    def test_on_each_account_of_each_fund(self, posted):
        carrying.carry(
            key=make.key("c"),
            things=[f"care {BRACKEN}"],
            through_on=oct(20),
            by=1,
            today=oct(21),
            at=make.at(oct(21)),
        )
        entry = make.closed(oct(20), today=oct(21))

        kept = ClosingBalance.objects.filter(entry=entry).values_list("fund", "account", "balance_minor")
        assert {(fund, account): minor for fund, account, minor in kept} == summed(oct(20), entry.id)
        assert audit().findings == ()

    def test_and_what_comes_later_is_added_to_it(self, books):
        """The same figures with and without a closing, for every day and every entry as they stood."""
        for day in range(1, 13):
            make.gift(make.general(), day * 100, oct(day))
            if day in (4, 9):
                make.closed(oct(day - 1), today=oct(day))
        make.reopened(today=oct(13))
        make.gift(make.general(), 55, oct(6), "dated back")
        make.closed(oct(7), today=oct(14))

        for as_of in range(last_number() + 1):
            for day in range(1, 14):
                assert dict(balances_at(on=oct(day), as_of=as_of)) == summed(oct(day), as_of), (as_of, day)

    def test_moved_counts_both_days_and_nothing_after_the_entry(self, books):
        for day in (1, 2, 3):
            make.gift(make.general(), day * 100, oct(day))

        found = moved(from_on=oct(2), to_on=oct(3), as_of=2)

        assert [(row.debit, row.credit, row.amount_minor) for row in found] == [("bank", "gifts", 2_00)]


def test_the_next_month_to_close_begins_after_the_last_closed_day(books):
    assert month_end.next_period(today=NOV_2) is None
    make.opened(make.general(), 5_00, oct(7))
    assert month_end.next_period(today=NOV_2) == (oct(7), OCT_31)
    make.closed(oct(9), today=NOV_2)
    assert month_end.next_period(today=NOV_2) == (oct(10), OCT_31)
