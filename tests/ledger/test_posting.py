"""The door of the books: one key, one entry; numbers without gaps; a chain; reversals."""

import dataclasses

import pytest

from ledger import posting
from ledger.actions import charges, gifts, returns
from ledger.audit import audit
from ledger.models import Entry, Inflow, Posting, Use
from tests.ledger import make
from tests.ledger.make import BRACKEN, oct
from tests.ledger.test_attacks import rows


def post_day(*slips):
    return charges.post_day(slips=list(slips), by=make.MANAGER, today=oct(14), at=make.at(oct(14)))


class TestKeys:
    def test_the_same_key_and_content_returns_the_entry_and_adds_nothing(self, posted):
        before = rows()

        again = post_day(*[dataclasses.replace(make.slip("one"), **facts(posted)) for _ in range(2)])

        assert [line.entry_number for line in again.lines] == [posted.lines[0].entry_number] * 2
        assert {line.already for line in again.lines} == {True}
        assert rows() == before

    def test_another_person_or_day_sending_the_same_is_the_same(self, books):
        make.gift(make.general(), 5_00, oct(2), "twice")

        again = gifts.receive(
            key=make.key("twice"),
            donor_id=None,
            fund_id=make.general().id,
            amount_minor=5_00,
            received_on=oct(2),
            by=99,
            today=oct(9),
            at=make.at(oct(9)),
        )

        assert Entry.objects.count() == 1
        assert again.entry.by == make.BOOKKEEPER

    def test_the_same_key_with_other_content_is_refused(self, books):
        make.gift(make.general(), 5_00, oct(2), "twice")
        before = rows()

        with pytest.raises(posting.KeyUsedBefore, match="sent before with other content"):
            make.gift(make.general(), 6_00, oct(2), "twice")

        assert rows() == before

    def test_one_key_twice_in_a_batch_with_other_content_is_refused(self, books):
        before = rows()

        with pytest.raises(posting.KeyUsedBefore):
            post_day(make.slip("one"), dataclasses.replace(make.slip("one"), words="Other"))

        assert rows() == before

    def test_every_slip_of_a_batch_or_none(self, books):
        before = rows()

        with pytest.raises(charges.CareAhead, match="after today, 2026-10-14. Nothing was posted"):
            post_day(make.slip("one"), make.slip("two", care_on=oct(15)))

        assert rows() == before


def facts(posted):
    return {"party_key": make.BRINDLE_YARD, "traits": frozenset({"boarding"})}


class TestPostingAll:
    def draft(self, **facts):
        leg = posting.Leg(debit="bank", credit="other_income", fund_id=make.general().id, amount_minor=5_00)
        defaults = {
            "key": make.key("interest"),
            "kind": Entry.Kind.OPENING,
            "on": oct(2),
            "sent": "5.00",
            "legs": (leg,),
        }
        return posting.Draft(**{**defaults, **facts})

    def post(self, *drafts):
        return posting.post_all(drafts, by=1, at=make.at(oct(2)))

    def test_the_same_draft_twice_in_a_batch_is_one_entry(self, books):
        first, second = self.post(self.draft(), self.draft())

        assert first == second
        assert self.post(self.draft()) == [first]
        assert Entry.objects.count() == 1

    def test_the_same_key_with_other_content_in_a_batch_is_refused(self, books):
        before = rows()

        with pytest.raises(posting.KeyUsedBefore):
            self.post(self.draft(), self.draft(sent="6.00"))

        assert rows() == before

    def test_a_fund_never_spends_what_it_does_not_have(self, books):
        leg = posting.Leg(debit="management", credit="bank", fund_id=make.general().id, amount_minor=5_00)
        before = rows()

        with pytest.raises(posting.MoneyMissing, match="does not have this much money"):
            self.post(self.draft(legs=(leg,)))

        assert rows() == before

    def test_spending_that_has_happened_leaves_a_shortfall_that_the_next_income_covers(self, books):
        leg = posting.Leg(
            debit="management", credit="bank", fund_id=make.general().id, amount_minor=8_00, may_go_short=True
        )
        self.post(self.draft(key=make.key("fee"), legs=(leg,)))
        assert make.by_name()["General"] == -8_00
        assert audit().findings == ()

        self.post(self.draft())
        make.gift(make.general(), 10_00, oct(3))

        assert make.by_name()["General"] == 7_00
        assert list(Inflow.objects.order_by("id").values_list("left_minor", flat=True)) == [0, 7_00]
        assert audit().findings == ()

    def test_a_restricted_fund_never_goes_short(self, books):
        fund = make.fund("Dressings", "purpose", purpose={"dressing"})
        leg = posting.Leg(debit="management", credit="bank", fund_id=fund.id, amount_minor=8_00, may_go_short=True)
        before = rows()

        with pytest.raises(posting.MoneyMissing):
            self.post(self.draft(legs=(leg,)))

        assert rows() == before


class TestChain:
    def test_numbers_have_no_gap_and_each_entry_names_the_digest_before_it(self, posted):
        entries = list(Entry.objects.order_by("id"))

        assert [entry.id for entry in entries] == list(range(1, len(entries) + 1))
        assert [entry.previous for entry in entries] == ["", *(entry.digest for entry in entries[:-1])]
        assert len({entry.digest for entry in entries}) == len(entries)

    def test_a_batch_and_one_by_one_give_the_same_books(self, books):
        make.opened(make.general(), 50_00)
        slips = [make.slip(name) for name in ("one", "two", "three")]

        post_day(*slips[:1])
        post_day(*slips[1:])

        assert [make.legs(number) for number in (2, 3, 4)] == [
            [
                ("boarding", "due_to_practice", 24_00, "General"),
                ("boarding", "donated_services", 18_00, "Given by the clinic"),
            ],
            [
                ("boarding", "due_to_practice", 24_00, "General"),
                ("boarding", "donated_services", 18_00, "Given by the clinic"),
            ],
            [
                ("boarding", "due_to_practice", 2_00, "General"),
                ("boarding", "donated_services", 18_00, "Given by the clinic"),
            ],
        ]
        assert audit().findings == ()


class TestReversing:
    def reverse(self, entry, name="back"):
        return posting.reverse(
            entry=entry, key=make.key(name), on=oct(20), by=make.BOOKKEEPER, at=make.at(oct(20)), why="Typed wrong."
        )

    def test_a_gift_typed_wrong_leaves_with_its_fee(self, books):
        gift = make.gift(make.general(), 30_00, oct(2), fee_minor=1_20, way="giving_site")

        back = self.reverse(gift.entry)

        assert make.legs(back.id) == [
            ("clearing", "fees", 1_20, "General"),
            ("gifts", "clearing", 30_00, "General"),
        ]
        assert make.by_name()["General"] == 0
        assert Inflow.objects.get().left_minor == 0
        assert audit().findings == ()

    def test_money_that_has_paid_for_something_does_not_simply_leave(self, books):
        gift = make.gift(make.general(), 30_00, oct(2))
        post_day(make.slip())
        before = rows()

        with pytest.raises(posting.MoneySpent, match="has paid for something already"):
            self.reverse(gift.entry)

        assert rows() == before

    def test_an_entry_is_reversed_once(self, books):
        gift = make.gift(make.general(), 30_00, oct(2))
        self.reverse(gift.entry)
        before = rows()

        with pytest.raises(posting.ReversedAlready, match="Entry 1 is reversed already"):
            self.reverse(gift.entry, "again")

        assert rows() == before

    def test_a_reversal_is_not_itself_reversed(self, books):
        gift = make.gift(make.general(), 30_00, oct(2))
        back = self.reverse(gift.entry)
        before = rows()

        with pytest.raises(posting.ReversalReversed, match="Post it anew instead"):
            self.reverse(back, "again")

        assert rows() == before

    def test_a_correction_of_care_is_not_itself_reversed(self, books):
        day = post_day(make.slip())
        back = self.reverse(Entry.objects.get(id=day.lines[0].entry_number))
        before = rows()

        with pytest.raises(posting.ReversalReversed, match="gives something back"):
            self.reverse(back, "again")

        assert rows() == before

    def test_a_returned_gift_that_paid_two_lines_is_not_itself_reversed(self, books):
        """It moved shares of several charges: giving them back as one would leave each with the other's."""
        gift = make.gift(make.general(), 40_00, oct(2))
        post_day(make.slip("one"), make.slip("two"))
        back = returns.give_back(
            key=make.key("back"),
            gift_id=gift.id,
            how="refund",
            why="It went back.",
            by=1,
            today=oct(14),
            at=make.at(oct(14)),
        )
        before = rows()

        with pytest.raises(posting.ReversalReversed, match="gives something back"):
            self.reverse(back.entry, "again")

        assert rows() == before
        assert audit().findings == ()

    def test_a_charge_gives_back_to_the_gifts_that_paid_it(self, books):
        fund = make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
        make.gift(fund, 10_00, oct(2))
        make.gift(fund, 20_00, oct(3))
        day = post_day(make.slip())

        self.reverse(Entry.objects.get(id=day.lines[0].entry_number))

        assert list(Inflow.objects.order_by("id").values_list("left_minor", flat=True)) == [10_00, 20_00]
        assert sum(Use.objects.values_list("amount_minor", flat=True)) == 0
        assert audit().findings == ()


class TestTracing:
    def test_the_oldest_unspent_pays_first_by_date_received(self, books):
        make.gift(make.general(), 10_00, oct(9), "typed first, received last")
        make.gift(make.general(), 10_00, oct(3), "received first")

        post_day(make.slip(asked_minor=12_00))

        used = Use.objects.order_by("id").values_list("inflow__received_on", "amount_minor")
        assert list(used) == [(oct(3), 10_00), (oct(9), 2_00)]

    def test_a_fee_is_paid_by_its_own_gift_not_by_the_oldest(self, books):
        make.gift(make.general(), 10_00, oct(2))
        gift = make.gift(make.general(), 30_00, oct(3), fee_minor=1_20, way="giving_site")

        assert [use.inflow.gift_id for use in Use.objects.all()] == [gift.id]

    def test_goods_used_before_they_were_recorded_leave_a_shortfall_that_the_next_goods_cover(self, books):
        post_day(make.slip(asked_minor=20_00, goods_minor=4_00))
        assert make.by_name()["Donated goods"] == -4_00
        assert audit().findings == ()

        make.bandage(10_00, on=oct(14))

        assert make.by_name()["Donated goods"] == 6_00
        assert Inflow.objects.get(fund__kind="goods").left_minor == 6_00
        assert audit().findings == ()

    def test_goods_given_back_while_short(self, books):
        day = post_day(make.slip(asked_minor=20_00, goods_minor=4_00))

        charges.correct(
            key=make.key("no"),
            charge_id=day.lines[0].charge_id,
            slip=None,
            by=1,
            today=oct(15),
            at=make.at(oct(15)),
            why="Not done.",
        )

        assert make.by_name()["Donated goods"] == 0
        assert audit().findings == ()

    def test_many_small_gifts_are_read_in_pages(self, books):
        for number in range(45):
            make.gift(make.general(), 1_00, oct(2), f"small {number}")

        post_day(make.slip(asked_minor=24_00), make.slip("two", asked_minor=20_50))

        assert Use.objects.count() == 24 + 21
        assert Inflow.objects.filter(left_minor__gt=0).get().left_minor == 50
        assert audit().findings == ()


def test_care_nobody_has_paid_belongs_to_no_funds_books(books):
    day = post_day(make.slip(usual_minor=24_00))

    assert (day.nobody_minor, Posting.objects.count()) == (24_00, 0)
    assert audit().findings == ()
