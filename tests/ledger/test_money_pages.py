"""Pages for all other ways in which money comes in, moves and goes out: written by form, refused at the field."""

import pytest
from django.urls import reverse

from ledger.actions import donors
from ledger.models import Advance, Entry, Fund, LeftoverAnswer
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD, oct
from tests.ledger.test_attacks import rows
from tests.ledger.test_pages import as_of, bookkeeper, read, send, text  # noqa: F401  fixtures


def last() -> Entry:
    return Entry.objects.order_by("-id").first()


class TestTransfers:
    def test_a_reserve_is_opened_and_feeds_general_money(self, bookkeeper):  # noqa: F811
        send(bookkeeper, "fund_open", name="Barrowby legacy", kind="reserve", on="2026-10-01")
        reserve = Fund.objects.get(name="Barrowby legacy")
        make.gift(reserve, 500_00, oct(21), "estate")

        sent = {"from_fund_id": reserve.id, "to_fund_id": make.general().id, "amount_minor": "120.00"}
        response = send(bookkeeper, "transfer_record", **sent, on="2026-10-22", words="For the winter.")

        assert response["Location"] == reverse("ledger:entry", args=[last().id])
        page = read(bookkeeper, "fund", reserve.id)
        assert "Transfers from and to other funds \u2212120.00" in page
        assert "For the winter." in page

    def test_restricted_money_is_refused_at_the_field(self, bookkeeper):  # noqa: F811
        leg = Fund.objects.get(kind="animal")
        before = rows()

        sent = {"from_fund_id": leg.id, "to_fund_id": make.general().id, "amount_minor": "1.00", "on": "2026-10-22"}
        response = send(bookkeeper, "transfer_record", **sent)

        assert response.status_code == 422
        assert "cannot go to another purpose" in text(response)
        assert rows() == before


@pytest.fixture
def left(posted):
    """4.80 of a gift is left in Bracken's leg, and 6.00 of a giver who never saw the clause."""
    leg = Fund.objects.get(kind="animal", subject_key=BRACKEN)
    make.gift(leg, 6_00, oct(21), "never saw it", clause_unseen=True)
    return leg


class TestLeftovers:
    def test_from_the_judgment_to_the_answer(self, left, bookkeeper):  # noqa: F811
        page = read(bookkeeper, "leftover", left.id).replace(" .", ".")
        assert "Given under the clause 4.80 Of givers who never saw it 6.00 Left 10.80" in page

        sent = {"to_fund_id": make.general().id, "why": "Bracken was adopted."}
        waited = send(bookkeeper, "leftover", left.id, **sent)
        send(bookkeeper, "leftover", left.id, **sent, last_bill="on")

        assert "Wait for the last bill" in text(waited)
        assert "Somebody unknown October 21, 2026 none yet 6.00" in read(bookkeeper, "leftover", left.id)
        gift = Fund.objects.get(id=left.id).inflows.get(gift__clause_unseen=True).gift
        refused = send(bookkeeper, "leftover_answer", left.id, gift.id, answer="refund", why="By letter.")
        assert "Nobody knows who gave this" in text(refused)
        send(bookkeeper, "leftover_answer", left.id, gift.id, answer="move", why="She called on October 30.")
        assert LeftoverAnswer.objects.get().answer == "move"
        assert "Nothing is left of this fund." in read(bookkeeper, "leftover", left.id)
        assert "No giver has to be asked." in read(bookkeeper, "leftovers")

    def test_a_fund_that_nobody_restricted_has_no_such_page(self, left, bookkeeper):  # noqa: F811
        assert bookkeeper.get(reverse("ledger:leftover", args=[make.general().id])).status_code == 404


class TestGifts:
    """E2, E5, E6: split, large, foreign, anonymous and conditional gifts, written by form."""

    def said(self, **facts):
        plain = {"fund_id": make.general().id, "amount_minor": "30.00", "received_on": "2026-10-21", "way": "bank"}
        return {**plain, **facts}

    def test_e5_a_large_gift_is_offered_a_fund_of_its_own(self, bookkeeper):  # noqa: F811
        before = rows()

        offered = send(bookkeeper, "gift_record", **self.said(amount_minor="900.00"))
        unnamed = send(bookkeeper, "gift_record", **self.said(amount_minor="900.00", apart="own"))
        assert rows() == before
        send(bookkeeper, "gift_record", **self.said(amount_minor="900.00", apart="own", apart_name="Barrowby legacy"))

        assert "the small gifts after it would wait for years" in text(offered)
        assert "Give its fund a name" in text(unnamed)
        assert make.by_name()["Barrowby legacy"] == 900_00
        assert Fund.objects.get(name="Barrowby legacy").kind == "reserve"

    def test_e6_a_split_foreign_gift(self, bookkeeper):  # noqa: F811
        leg = Fund.objects.get(kind="animal")

        send(
            bookkeeper,
            "gift_record",
            **self.said(
                second_fund_id=leg.id,
                second_minor="10.00",
                original_amount="27.50",
                original_currency="eur",
                way="bank",
            ),
        )

        assert make.legs(last().id) == [
            ("bank", "gifts", 20_00, "General"),
            ("bank", "gifts", 10_00, "Bracken's leg"),
        ]
        page = read(bookkeeper, "gift", last().gift.id)
        assert "Given as 27.50 EUR; the bank settled 30.00." in page

    @pytest.mark.parametrize(
        ("facts", "sentence"),
        [
            ({"original_amount": "5", "original_currency": "QQQ"}, "QQQ is no currency in use"),
            ({"original_amount": "5", "original_currency": "USD"}, "other than the house"),
            ({"original_amount": "5.001", "original_currency": "EUR"}, "finer than the smallest unit of EUR"),
            ({"original_amount": "5"}, "Write both: the foreign amount"),
            ({"second_minor": "5.00"}, "Write the part and choose its fund"),
            ({"is_anonymous": "on", "donor_id": "known"}, "An anonymous gift has no donor"),
            ({"second_fund_id": "leg", "second_minor": "31.00"}, "must be above zero"),
        ],
    )
    def test_that_cannot_be_is_refused_at_the_field(self, bookkeeper, facts, sentence):  # noqa: F811
        donor = donors.add(key=make.key("d"), name="Ottoline Marsh", on=oct(1), by=1)
        known = {"leg": Fund.objects.get(kind="animal").id, "known": donor.id}
        before = rows()

        response = send(bookkeeper, "gift_record", **self.said(**{name: known.get(v, v) for name, v in facts.items()}))

        assert response.status_code == 422
        assert sentence in text(response)
        assert rows() == before

    def test_e6_a_condition_from_the_grant_to_the_gift(self, bookkeeper):  # noqa: F811
        sent = self.said(amount_minor="2000.00", condition="Forty dogs are neutered by June.")
        send(bookkeeper, "conditional_gift_record", **sent)
        advance = Advance.objects.latest("id")

        assert "Forty dogs are neutered by June. no date General 2,000.00" in read(bookkeeper, "conditional_gifts")
        assert "Money must go back unless something happens. 2,007.00" in read(bookkeeper, "in_and_out")
        settled = {"outcome": "met", "on": "2026-10-25", "why": "The forty-first was today."}
        send(bookkeeper, "conditional_gift_settle", advance.id, **settled)
        again = send(bookkeeper, "conditional_gift_settle", advance.id, **settled)

        assert "This conditional gift was met already" in text(again)
        assert "met October 25, 2026 2,000.00" in read(bookkeeper, "conditional_gifts")


class TestPayouts:
    def test_the_whole_is_paid_out_fund_by_fund(self, bookkeeper):  # noqa: F811
        make.gift(make.general(), 10_00, oct(21), way="giving_site", fee_minor=40)

        wrong = send(bookkeeper, "payout_record", amount_minor="38.39", on="2026-10-25")
        send(bookkeeper, "payout_record", amount_minor="38.40", on="2026-10-25")

        assert "The giving sites hold 38.40 together, and this says 38.39." in text(wrong)
        assert make.legs(last().id) == [
            ("bank", "clearing", 9_60, "General"),
            ("bank", "clearing", 28_80, "Bracken's leg"),
        ]


class TestMoneyOut:
    def test_the_practice_is_paid_and_the_list_is_empty(self, bookkeeper):  # noqa: F811
        due = read(bookkeeper, "practice")
        send(bookkeeper, "practice", on="2026-10-30", words="Invoice 17")

        assert "Bracken&#x27;s leg October 13, 2026" in due
        assert make.account("due_to_practice") == 0
        page = read(bookkeeper, "practice")
        assert "The funds owe the practice nothing." in page
        assert "Invoice 17" in page

    def test_restricted_money_for_management_is_refused_at_the_field(self, bookkeeper):  # noqa: F811
        leg = Fund.objects.get(kind="animal")
        sent = {"kind": "management", "words": "Auditor", "amount_minor": "5.00", "on": "2026-10-30"}

        refused = send(bookkeeper, "spending_record", **sent, fund_id=leg.id)
        send(bookkeeper, "spending_record", **sent, fund_id=make.general().id)

        assert refused.status_code == 422
        assert make.legs(last().id) == [("management", "bank", 5_00, "General")]

    def test_a_partner_pays_too_much_and_takes_it_back(self, bookkeeper):  # noqa: F811
        due = make.account("due_from_partners")
        send(bookkeeper, "partner_money", BRINDLE_YARD, what="pay", amount_minor="100.00", on="2026-10-30")

        page = read(bookkeeper, "partner_money", BRINDLE_YARD).replace(" .", ".")
        assert f"Its deposit {100 - due / 100:.2f}" in page
        assert "It owes nothing." in page
        refused = send(
            bookkeeper, "partner_money", BRINDLE_YARD, what="return_deposit", amount_minor="100.00", on="2026-10-30"
        )
        assert "Write at most that." in text(refused)
