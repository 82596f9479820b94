"""Gifts deeper than one amount for one fund: split, foreign, anonymous, conditional, and who pays the fee (E2, E6)."""

import pytest
from django.db import IntegrityError, transaction

from ledger import posting
from ledger.actions import conditional_gifts, donors, gifts, payouts, policies, returns, reversals
from ledger.actions.charges import post_day
from ledger.actions.income import AmountImpossible, DateAhead
from ledger.audit import audit
from ledger.models import Advance, Gift, Inflow
from ledger.queries.donor_trace import donor_trace
from ledger.queries.gifts import gift as story
from ledger.triggers import words
from tests.ledger import make
from tests.ledger.make import BRACKEN, oct
from tests.ledger.test_attacks import rows

COMMON = {"by": make.BOOKKEEPER, "today": oct(14), "at": make.at(oct(14))}


def receive(amount_minor: int = 100_00, name: str = "gift", **facts) -> Gift:
    facts.setdefault("donor_id", None)
    return gifts.receive(key=make.key(name), amount_minor=amount_minor, received_on=oct(2), **facts, **COMMON)


@pytest.fixture
def leg(books):
    return make.fund("Bracken's leg", "animal", subject_key=BRACKEN)


def general_pays_fees() -> None:
    policies.set_policy(
        key=make.key("policy"),
        code="fees_from_general",
        value=True,
        from_on=oct(1),
        why="Every cent given for an animal reaches it.",
        by=make.MANAGER,
        today=oct(1),
        at=make.at(oct(1)),
    )


class TestSplit:
    def test_a_gift_over_two_funds_splits_its_fee_by_largest_remainder(self, leg):
        """E2: 3.21 over 66.67 and 33.33: 2.1401 and 1.0699, so 2.14 and 1.07."""
        gift = receive(parts={leg.id: 66_67, make.general().id: 33_33}, way="giving_site", fee_minor=3_21, name="split")

        assert make.legs(gift.entry_id) == [
            ("clearing", "gifts", 66_67, "Bracken's leg"),
            ("clearing", "gifts", 33_33, "General"),
            ("fees", "clearing", 2_14, "Bracken's leg"),
            ("fees", "clearing", 1_07, "General"),
        ]
        assert [row.fund_name for row in story(gift_id=gift.id).waiting] == ["Bracken's leg", "General"]
        assert audit().findings == ()

    def test_parts_that_do_not_sum_are_refused(self, leg):
        before = rows()

        with pytest.raises(gifts.PartsDiffer, match="Write each part"):
            receive(parts={leg.id: 66_67, make.general().id: 33_34})

        assert rows() == before


class TestFees:
    def test_e2_the_gift_pays_its_own_fee(self, leg):
        receive(fund_id=leg.id, way="giving_site", fee_minor=3_20)

        assert make.by_name()["Bracken's leg"] == 96_80

    def test_e2_general_money_pays_it_where_the_holder_promises_that_all_of_a_gift_arrives(self, leg):
        general_pays_fees()
        make.opened(make.general(), 50_00)

        gift = receive(fund_id=leg.id, way="giving_site", fee_minor=3_20)

        assert make.legs(gift.entry_id)[1] == ("fees", "clearing", 3_20, "General")
        assert (make.by_name()["Bracken's leg"], make.by_name()["General"]) == (100_00, 46_80)
        assert (story(gift_id=gift.id).row.used_minor, gift.fee_from_general) == (0, True)

        payouts.pay_out_all(key=make.key("p"), amount_minor=96_80, on=oct(9), **COMMON)

        assert (payouts.held(), make.account("clearing"), make.account("bank")) == ({}, 0, 146_80)
        assert audit().findings == ()

    def test_e2_it_may_go_short_for_a_fee_that_the_site_has_taken(self, leg):
        general_pays_fees()

        receive(fund_id=leg.id, way="giving_site", fee_minor=3_20)

        assert make.by_name()["General"] == -3_20
        assert audit().findings == ()

    def test_a_payout_that_differs_from_what_the_sites_hold_is_refused(self, leg):
        receive(fund_id=leg.id, way="giving_site", fee_minor=3_20)
        before = rows()

        with pytest.raises(payouts.PayoutDiffers, match=r"hold 96\.80 together, and this says 96\.81"):
            payouts.pay_out_all(key=make.key("p"), amount_minor=96_81, on=oct(9), **COMMON)

        assert rows() == before


class TestForeignAndAnonymous:
    def test_e6_a_foreign_gift_keeps_its_original_beside_the_settled_amount(self, books):
        gift = receive(108_40, fund_id=make.general().id, original_minor=100_00, original_currency="EUR")

        assert (gift.amount_minor, gift.original_minor, gift.original_currency) == (108_40, 100_00, "EUR")
        assert story(gift_id=gift.id).row.original_words == "100.00 EUR"
        assert audit().findings == ()

    def test_an_anonymous_gift_stays_so(self, books):
        gift = receive(fund_id=make.general().id, anonymous=True)

        assert (gift.donor_id, gift.is_anonymous) == (None, True)
        assert story(gift_id=gift.id).row.donor_name == "Somebody who does not want to be named"

    @pytest.mark.parametrize(
        ("facts", "refusal", "sentence"),
        [
            ({"original_minor": 5, "original_currency": "QQQ"}, gifts.OriginalUnclear, "the three letters"),
            ({"original_minor": 5, "original_currency": "USD"}, gifts.OriginalUnclear, "other than the house's own"),
            ({"original_minor": 0, "original_currency": "EUR"}, gifts.OriginalUnclear, "Nothing was recorded"),
            ({"original_minor": 5}, gifts.OriginalUnclear, "the three letters"),
            ({"anonymous": True, "donor_id": "known"}, gifts.AnonymousNamed, "Leave the donor out"),
        ],
    )
    def test_that_cannot_be_is_refused(self, books, facts, refusal, sentence):
        donor = donors.add(key=make.key("d"), name="Ottoline Marsh", on=oct(1), by=1)
        before = rows()

        with pytest.raises(refusal, match=sentence):
            receive(fund_id=make.general().id, **{k: donor.id if v == "known" else v for k, v in facts.items()})

        assert rows() == before


def promised(amount_minor: int = 2_000_00, **facts) -> Advance:
    donor = donors.add(key=make.key("trust"), name="Larkweir Trust", kind="organization", on=oct(1), by=1)
    facts = {"fund_id": make.general().id, "condition": "Forty dogs are neutered.", "received_on": oct(2), **facts}
    return conditional_gifts.receive(
        key=make.key("grant"), donor_id=donor.id, amount_minor=amount_minor, **facts, **COMMON
    )


def met(advance: Advance, name: str = "met", **facts) -> Gift:
    facts = {"on": oct(9), "why": "The fortieth was today.", **facts}
    return conditional_gifts.meet(key=make.key(name), advance_id=advance.id, **facts, **COMMON)


def failed(advance: Advance, name: str = "failed", **facts):
    facts = {"on": oct(9), "why": "Only twelve came.", **facts}
    return conditional_gifts.fail(key=make.key(name), advance_id=advance.id, **facts, **COMMON)


class TestConditional:
    def test_e6_it_is_a_liability_until_its_condition_is_met(self, books):
        advance = promised()

        assert (make.by_name()["General"], make.account("refundable_advances")) == (0, -2_000_00)
        assert post_day(slips=[make.slip("one")], by=1, today=oct(14), at=make.at(oct(14))).nobody_minor == 24_00

        gift = met(advance)

        assert (gift.received_on, gift.donor_id) == (oct(9), advance.donor_id)
        assert [row.received_on for row in Inflow.objects.filter(gift=gift)] == [oct(9)]
        assert (make.by_name()["General"], make.account("refundable_advances")) == (2_000_00, 0)
        assert donor_trace(donor_id=gift.donor_id, from_on=oct(1), to_on=oct(31)).given_minor == 2_000_00
        assert met(advance) == gift
        assert audit().findings == ()

    def test_e6_not_met_it_goes_back(self, books):
        entry = failed(promised())

        assert make.legs(entry.id) == [("refundable_advances", "bank", 2_000_00, "General")]
        assert (make.account("bank"), make.account("refundable_advances")) == (0, 0)
        assert audit().findings == ()

    def test_met_by_mistake_it_is_open_again(self, books):
        gift = met(promised())

        reversals.take_back(
            key=make.key("back"), number=gift.entry_id, by=1, today=oct(14), at=make.at(oct(14)), why="Not yet"
        )
        failed(Advance.objects.get())

        assert make.account("refundable_advances") == 0
        assert audit().findings == ()

    @pytest.mark.parametrize(
        ("case", "refusal", "sentence"),
        [
            ("met twice", conditional_gifts.SettledAlready, "was met already"),
            ("failed after met", conditional_gifts.SettledAlready, "was met already"),
            ("met after failed", conditional_gifts.SettledAlready, "was sent back already"),
            ("met too early", conditional_gifts.SettledTooEarly, "Choose that day or a later one"),
            ("met ahead", DateAhead, "has not come yet"),
            ("no condition", conditional_gifts.ConditionMissing, "record a plain gift"),
            ("ends early", conditional_gifts.EndImpossible, "on or after the day"),
            ("nothing", AmountImpossible, "must be above zero"),
        ],
    )
    def test_that_cannot_be_is_refused_by_name(self, books, case, refusal, sentence):
        advance = None if case in {"no condition", "ends early", "nothing"} else promised()
        if case in {"met twice", "failed after met"}:
            met(advance, "first")
        if case == "met after failed":
            failed(advance, "first")
        tries = {
            "met twice": lambda: met(advance),
            "failed after met": lambda: failed(advance),
            "met after failed": lambda: met(advance),
            "met too early": lambda: met(advance, on=oct(1)),
            "met ahead": lambda: met(advance, on=oct(15)),
            "no condition": lambda: promised(condition=" "),
            "ends early": lambda: promised(until_on=oct(1)),
            "nothing": lambda: promised(0),
        }
        donors.add(key=make.key("trust"), name="Larkweir Trust", kind="organization", on=oct(1), by=1)
        before = rows()

        with pytest.raises(refusal, match=sentence):
            tries[case]()

        assert rows() == before

    @pytest.mark.parametrize("settle", [met, failed])
    @pytest.mark.parametrize("again", [met, failed])
    def test_the_database_itself_settles_once(self, books, settle, again, monkeypatch):
        """Whatever the action forgets to ask."""
        advance = promised()
        settle(advance, "first")
        monkeypatch.setattr(conditional_gifts, "_open", lambda *_: Advance.objects.select_related("entry").get())

        with pytest.raises(IntegrityError, match=f"{words.CONDITION_ONCE}|{words.BACK_TOO_MUCH}"), transaction.atomic():
            again(advance, "second")

    def test_what_was_recorded_is_never_changed(self, books):
        promised()

        for attack in (
            lambda: Advance.objects.update(amount_minor=1),
            lambda: Advance.objects.all()._raw_delete("default"),
        ):
            with pytest.raises(IntegrityError, match="Posted means posted"), transaction.atomic():
                attack()

        assert Advance.objects.get().amount_minor == 2_000_00


class TestTakingAConditionalGiftBack:
    """E6: what settled it is taken back first; what went back is recorded anew."""

    def test_a_receipt_stands_once_it_is_met(self, leg):
        advance = promised()
        met(advance)
        before = rows()

        with pytest.raises(posting.ConditionSettled, match="met or sent back already, so it was received"):
            take_back(advance.entry_id)

        assert rows() == before

    def test_a_receipt_stands_once_it_is_sent_back_and_so_does_the_sending(self, leg):
        advance = promised()
        sent = failed(advance)

        with pytest.raises(posting.ConditionSettled, match="received"):
            take_back(advance.entry_id)
        with pytest.raises(posting.ReversalReversed, match="gives something back"):
            take_back(sent.id)
        assert audit().findings == ()

    def test_met_by_mistake_is_taken_back_and_met_again(self, leg):
        advance = promised()
        gift = met(advance)
        take_back(gift.entry_id)
        met(advance, "met again")

        assert audit().findings == ()

    def test_a_met_gift_typed_wrong_owes_nobody_an_advance(self, leg):
        gift = met(promised())

        returns.give_back(
            key=make.key("typed"), gift_id=gift.id, how="mistyped", why="no", by=1, today=oct(20), at=make.at(oct(20))
        )

        assert make.account("refundable_advances") == 0
        assert audit().findings == ()


def take_back(number: int):
    return reversals.take_back(
        key=make.key(f"take back {number}"), number=number, by=1, today=oct(20), at=make.at(oct(20)), why="no"
    )
