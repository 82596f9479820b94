"""Periods close and reopen as rows of the chain; nothing enters a closed period."""

from datetime import date

import pytest

from ledger.actions import charges, periods
from ledger.audit import audit
from ledger.models import Closing, Entry
from ledger.posting import KeyUsedBefore, PeriodClosed
from ledger.queries.periods import closed_through, closings
from ledger.queries.sharing import preview
from tests.ledger import make
from tests.ledger.make import oct
from tests.ledger.test_attacks import rows

pytestmark = pytest.mark.django_db
SEP_30, NOV_3 = date(2026, 9, 30), date(2026, 11, 3)


@pytest.fixture
def open_books(books):
    make.opened(make.general(), 100_00)


def refused(kind, action) -> str:
    before = rows()

    with pytest.raises(kind) as refusal:
        action()

    assert rows() == before
    return str(refusal.value)


class TestClosing:
    def test_is_an_entry_of_the_chain_without_legs(self, open_books):
        entry = make.closed(oct(5), today=oct(9))

        last = Entry.objects.order_by("-id").first()
        assert (last.id, last.kind, last.on, last.legs) == (entry.id, "closing", oct(9), 0)
        assert closed_through() == oct(5)
        assert audit().findings == ()

    def test_again_with_the_same_key_adds_nothing(self, open_books):
        assert make.closed(oct(5), today=oct(9)).id == make.closed(oct(5), today=oct(10)).id
        assert Closing.objects.count() == 1

    def test_refuses_a_key_with_other_content(self, open_books):
        make.closed(oct(5), today=oct(9), name="once")

        refused(KeyUsedBefore, lambda: make.closed(oct(6), today=oct(9), name="once"))

    def test_refuses_a_day_that_is_not_over(self, open_books):
        said = refused(periods.PeriodNotOver, lambda: make.closed(oct(9), today=oct(9)))

        assert said.startswith("October 9, 2026 is not over. Nothing was closed.")

    @pytest.mark.parametrize("through_on", [oct(5), oct(4)])
    def test_refuses_a_day_that_is_closed(self, open_books, through_on):
        make.closed(oct(5), today=oct(9))

        said = refused(periods.ClosedAlready, lambda: make.closed(through_on, today=oct(9), name="again"))

        assert "closed through October 5, 2026 already" in said


class TestReopening:
    def test_gives_back_the_day_that_stood_before(self, open_books):
        make.closed(SEP_30, today=oct(1))
        make.closed(oct(5), today=oct(9))
        make.reopened("A bill came late.", today=oct(10))

        assert closed_through() == SEP_30
        make.reopened("And another one.", today=oct(11))
        assert closed_through() is None
        assert audit().findings == ()

    def test_is_told_beside_its_closing(self, open_books):
        make.closed(SEP_30, today=oct(1))
        make.closed(oct(5), today=oct(9), note="October 4 is not signed off.")
        make.reopened("A bill came late.", today=oct(10))

        later, first = closings()
        assert (later.from_on, later.through_on, later.note) == (oct(1), oct(5), "October 4 is not signed off.")
        assert (later.reopened_on, later.reopened_why, later.is_last) == (oct(10), "A bill came late.", False)
        assert (first.from_on, first.through_on, first.reopened_on, first.is_last) == (None, SEP_30, None, True)

    def test_lets_the_same_days_be_closed_again(self, open_books):
        make.closed(oct(5), today=oct(9))
        make.reopened(today=oct(10))
        make.gift(make.general(), 5_00, oct(4))
        make.closed(oct(5), today=oct(11), name="again")

        assert closed_through() == oct(5)
        assert audit().findings == ()

    def test_of_nothing_is_refused(self, open_books):
        assert "none to reopen" in refused(periods.NothingClosed, lambda: make.reopened(today=oct(9)))

    def test_without_a_reason_is_refused(self, open_books):
        make.closed(oct(5), today=oct(9))

        assert "Write why" in refused(periods.ReasonMissing, lambda: make.reopened("  ", today=oct(9)))


class TestNothingEnters:
    """Money may be dated back inside an open period only."""

    @pytest.fixture
    def closed(self, open_books):
        make.closed(oct(5), today=oct(9))

    def test_a_gift_dated_on_the_last_closed_day(self, closed):
        said = refused(PeriodClosed, lambda: make.gift(make.general(), 5_00, oct(5)))

        assert said.startswith("October 2026 is closed, through October 5, so nothing is dated October 5 any more.")
        assert "Date it October 6, 2026 or later, or reopen the period first, with your reason." in said

    def test_goods_a_payout_and_an_opening_balance(self, closed):
        refused(PeriodClosed, lambda: make.bandage(on=oct(5)))
        site = make.fund("Site", "purpose", purpose={"dressing"})
        make.gift(site, 5_00, oct(6), way="giving_site")
        refused(PeriodClosed, lambda: make.paid_out({site.id: 5_00}, oct(4)))
        refused(PeriodClosed, lambda: make.opened(site, 5_00, oct(1)))

    def test_a_gift_on_the_day_after_is_recorded(self, closed):
        assert make.gift(make.general(), 5_00, oct(6)).entry.on == oct(6)

    def test_a_gift_sent_again_after_its_month_has_closed_is_the_same_gift(self, open_books):
        first = make.gift(make.general(), 5_00, oct(4))
        make.closed(oct(5), today=oct(9))

        assert make.gift(make.general(), 5_00, oct(4)).id == first.id


class TestCareOfAClosedDay:
    def test_is_dated_today_with_its_day_of_care_kept(self, open_books):
        """`on` is the day of care if its period is open, otherwise today."""
        make.closed(oct(5), today=oct(9))
        slips = [make.slip("closed", care_on=oct(5)), make.slip("open", care_on=oct(6))]

        shown = preview(slips=slips, today=oct(9))
        day = charges.post_day(slips=slips, by=make.MANAGER, today=oct(9), at=make.at(oct(9)))

        assert [line.on for line in shown] == [line.on for line in day.lines] == [oct(9), oct(6)]
        assert Entry.objects.get(id=day.lines[0].entry_number).charge.care_on == oct(5)

    def test_is_corrected_today(self, open_books):
        day = charges.post_day(slips=[make.slip()], by=make.MANAGER, today=oct(14), at=make.at(oct(14)))
        make.closed(oct(31), today=NOV_3)

        corrected = charges.correct(
            key=make.key("wrong"),
            charge_id=day.lines[0].charge_id,
            slip=make.slip("right", asked_minor=20_00),
            by=make.MANAGER,
            today=NOV_3,
            at=make.at(NOV_3),
            why="The rescue rate was 20.00.",
        )

        assert (corrected.reversal.on, corrected.line.on) == (NOV_3, NOV_3)
        assert audit().findings == ()
