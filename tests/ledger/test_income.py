"""Gifts, goods, opening balances, payouts and donors: what is recorded, and what is refused and why."""

from decimal import Decimal

import pytest

from ledger.actions import donors, gifts, goods, opening, payouts
from ledger.actions.gifts import FeeImpossible, WayUnknown
from ledger.actions.goods import GoodsNameless
from ledger.actions.income import AmountImpossible, DateAhead, FundClosed, FundNotForGifts
from ledger.audit import audit
from ledger.models import Donor, Fund, Inflow
from tests.ledger import make
from tests.ledger.make import oct
from tests.ledger.test_attacks import rows


def receive(**facts):
    defaults = {
        "key": make.key("gift"),
        "donor_id": None,
        "fund_id": make.general().id,
        "amount_minor": 30_00,
        "received_on": oct(2),
        "by": make.BOOKKEEPER,
        "today": oct(14),
        "at": make.at(oct(14)),
    }
    return gifts.receive(**{**defaults, **facts})


def test_a_gift_through_a_giving_site_pays_its_own_fee(books):
    receive(way="giving_site", fee_minor=1_20, words="For the dog on the news")

    assert make.legs(1) == [
        ("clearing", "gifts", 30_00, "General"),
        ("fees", "clearing", 1_20, "General"),
    ]
    assert make.by_name()["General"] == 28_80
    assert audit().findings == ()


@pytest.mark.parametrize(
    ("facts", "refusal", "sentence"),
    [
        ({"amount_minor": 0}, AmountImpossible, "must be above zero"),
        ({"amount_minor": -5}, AmountImpossible, "reverse its entry"),
        ({"amount_minor": 10**13}, AmountImpossible, "must be above zero"),
        ({"received_on": oct(15)}, DateAhead, "has not come yet"),
        ({"way": "pigeon"}, WayUnknown, "by the bank or through a giving site"),
        ({"fee_minor": 1}, FeeImpossible, "belongs to a giving site"),
        ({"way": "giving_site", "fee_minor": -1}, FeeImpossible, "between zero and the gift"),
        ({"way": "giving_site", "fee_minor": 31_00}, FeeImpossible, "between zero and the gift"),
    ],
)
def test_a_gift_that_cannot_be_is_refused(books, facts, refusal, sentence):
    before = rows()

    with pytest.raises(refusal, match=sentence):
        receive(**facts)

    assert rows() == before


@pytest.mark.parametrize("kind", ["given", "goods"])
def test_a_fund_that_takes_no_gifts_is_refused(books, kind):
    before = rows()

    with pytest.raises(FundNotForGifts, match="takes no gifts of money"):
        receive(fund_id=Fund.objects.get(kind=kind).id)

    assert rows() == before


def test_a_closed_fund_is_refused(books):
    from ledger.actions import funds

    fund = make.fund("Done", "purpose", purpose={"dressing"})
    funds.close(fund_id=fund.id, on=oct(3))
    before = rows()

    with pytest.raises(FundClosed, match="Done is closed"):
        receive(fund_id=fund.id)

    assert rows() == before


class TestGoods:
    def receive(self, **facts):
        defaults = {
            "key": make.key("goods"),
            "donor_id": None,
            "words": "roll of bandage",
            "quantity": Decimal(3),
            "unit": "roll",
            "fair_value_minor": 10_00,
            "received_on": oct(1),
            "by": make.BOOKKEEPER,
            "today": oct(14),
            "at": make.at(oct(14)),
        }
        return goods.receive(**{**defaults, **facts})

    def test_stand_apart_from_money_at_fair_value(self, books):
        gift = self.receive()

        assert make.legs(1) == [("goods_on_hand", "donated_goods", 10_00, "Donated goods")]
        assert (gift.quantity_thousandths, gift.unit, self.receive().id) == (3_000, "roll", gift.id)

    @pytest.mark.parametrize(
        ("facts", "refusal"),
        [
            ({"quantity": Decimal(0)}, AmountImpossible),
            ({"fair_value_minor": 0}, AmountImpossible),
            ({"received_on": oct(20)}, DateAhead),
            ({"words": " "}, GoodsNameless),
            ({"unit": ""}, GoodsNameless),
        ],
    )
    def test_that_cannot_be_are_refused(self, books, facts, refusal):
        before = rows()

        with pytest.raises(refusal, match="Nothing was recorded"):
            self.receive(**facts)

        assert rows() == before


class TestOpening:
    def test_keeps_the_donor_and_the_date_received(self, books):
        donor = donors.add(key=make.key("donor"), name="Ottoline Marsh", on=oct(1), by=1)
        make.opened(make.general(), 40_00, donor_id=donor.id, received_on=oct(1).replace(month=3))

        inflow = Inflow.objects.get()
        assert (inflow.gift.donor, inflow.gift.way, inflow.received_on.month) == (donor, "opening", 3)
        assert make.legs(1) == [("bank", "opening", 40_00, "General")]

    def test_twice_is_once(self, books):
        assert make.opened(make.general(), 40_00) == make.opened(make.general(), 40_00)

    def test_of_nothing_is_refused(self, books):
        before = rows()

        with pytest.raises(AmountImpossible, match="The opening balance must be above zero"):
            opening.balance(
                key=make.key("o"),
                fund_id=make.general().id,
                amount_minor=0,
                on=oct(1),
                by=1,
                today=oct(1),
                at=make.at(oct(1)),
            )

        assert rows() == before


class TestPayouts:
    def test_move_what_the_site_holds(self, books):
        receive(way="giving_site", fee_minor=1_20)

        make.paid_out({make.general().id: 28_80}, oct(5))

        assert (make.account("clearing"), make.account("bank")) == (0, 28_80)
        assert make.by_name()["General"] == 28_80

    def test_never_more_than_the_site_holds(self, books):
        receive(way="giving_site", fee_minor=1_20)
        before = rows()

        with pytest.raises(payouts.PayoutTooLarge, match="more than it holds for this fund"):
            make.paid_out({make.general().id: 28_81}, oct(5))

        assert rows() == before


class TestDonors:
    def test_are_added_once_per_form_and_changed(self, books):
        first = donors.add(key=make.key("d"), name=" Ottoline Marsh ", on=oct(1), by=1)
        again = donors.add(key=make.key("d"), name="Ottoline Marsh", on=oct(2), by=1)
        changed = donors.change(
            donor_id=first.id, kind="estate", name="Estate of O. Marsh", address="", email="", note="", on=oct(2), by=1
        )

        assert (first.name, again.id, Donor.objects.get()) == ("Ottoline Marsh", first.id, changed)
        assert Donor.objects.get().name == "Estate of O. Marsh"

    def test_need_a_name(self, books):
        with pytest.raises(donors.DonorNameless, match="Write the donor's name"):
            donors.add(key=make.key("d"), name=" ", on=oct(1), by=1)

        assert not Donor.objects.exists()
