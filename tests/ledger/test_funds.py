"""Holder, funds and agreements: opened, closed, made, ended, and what is refused and why."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from ledger.actions import agreements, funds, holder
from ledger.formulas.money import CurrencyUnknown
from ledger.models import Agreement, Fund, Holder
from ledger.queries.holder import holder as holder_facts
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD, oct
from tests.ledger.test_attacks import rows


class TestHolder:
    def test_begins_the_books_with_three_funds(self, books):
        assert [fund.kind for fund in Fund.objects.order_by("id")] == ["general", "given", "goods"]
        assert holder_facts().currency == "USD"
        assert holder_facts().is_charity

    def test_is_set_up_once(self, books):
        with pytest.raises(holder.HolderSetUp, match="have a holder already"):
            make.books()

        assert Holder.objects.count() == 1

    @pytest.mark.django_db
    def test_needs_a_known_currency(self):
        with pytest.raises(CurrencyUnknown, match="no currency in use"):
            make.books(currency="QQQ")

        assert not Holder.objects.exists()


class TestFunds:
    @pytest.mark.parametrize(
        ("facts", "refusal", "sentence"),
        [
            ({"kind": "given"}, funds.FundPurposeMissing, "Choose what the fund is for"),
            ({"name": " "}, funds.FundPurposeMissing, "Give the fund a name"),
            ({"name": "General"}, funds.FundNameTaken, "There is a fund named General already"),
            ({"kind": "animal"}, funds.FundPurposeMissing, "Choose the animal"),
            ({"kind": "partner"}, funds.FundPurposeMissing, "Choose the partner"),
            ({"kind": "purpose"}, funds.FundPurposeMissing, "at least one kind of care"),
            ({"kind": "animal", "subject_key": BRACKEN, "purpose": {"x"}}, funds.FundPurposeMissing, "names nothing"),
            ({"kind": "general"}, funds.FundPurposeMissing, "without a restriction"),
            ({"kind": "animal", "subject_key": BRACKEN, "leftover": ""}, funds.LeftoverMissing, "not needed"),
        ],
    )
    def test_that_cannot_be_are_refused(self, books, facts, refusal, sentence):
        before = rows()

        with pytest.raises(refusal, match=sentence):
            make.fund(**{"name": "New", "kind": "animal", **facts})

        assert rows() == before

    def test_the_same_form_twice_opens_one(self, books):
        assert make.fund("Leg", "animal", subject_key=BRACKEN) == make.fund("Leg", "animal", subject_key=BRACKEN)

    def test_with_money_do_not_close(self, books):
        fund = make.fund("Leg", "animal", subject_key=BRACKEN)
        make.gift(fund, 1_00, oct(2))

        with pytest.raises(funds.FundNotEmpty, match="Leg is not empty"):
            funds.close(fund_id=fund.id, on=oct(3))

        assert Fund.objects.get(id=fund.id).closed_on is None

    def test_that_the_books_need_stay_open(self, books):
        with pytest.raises(funds.FundKept, match="stays open"):
            funds.close(fund_id=make.general().id, on=oct(3))

        assert make.general().closed_on is None

    def test_close_once(self, books):
        fund = make.fund("Leg", "animal", subject_key=BRACKEN)
        funds.close(fund_id=fund.id, on=oct(3))

        assert funds.close(fund_id=fund.id, on=oct(9)).closed_on == oct(3)


class TestAgreements:
    def test_share_one_fund_per_partner(self, books):
        first = make.agreed(40, until_on=oct(10))
        second = make.agreed(50, key_name="second", from_on=oct(11))

        assert first.fund == second.fund
        assert make.agreed(40, until_on=oct(10)) == first

    @pytest.mark.parametrize(
        ("from_on", "until_on"),
        [(oct(1), None), (oct(20), None), (date(2026, 9, 1), oct(1)), (oct(5), oct(6)), (date(2026, 9, 1), None)],
    )
    def test_of_a_partner_never_overlap(self, books, from_on, until_on):
        make.agreed(40)
        before = rows()

        with pytest.raises(agreements.AgreementsOverlap, match="from 2026-10-01 without an end, and two never overlap"):
            make.agreed(50, key_name="second", from_on=from_on, until_on=until_on)

        assert rows() == before

    def test_may_follow_one_another(self, books):
        first = make.agreed(40)
        agreements.end(agreement_id=first.id, until_on=oct(10))
        make.agreed(50, key_name="second", from_on=oct(11))

        with pytest.raises(agreements.AgreementsOverlap):
            agreements.end(agreement_id=first.id, until_on=oct(11))

        assert Agreement.objects.get(id=first.id).until_on == oct(10)

    @pytest.mark.parametrize("percent", [Decimal(0), Decimal(-1), Decimal("100.01"), Fraction(1, 3)])
    def test_percent_that_cannot_be_is_refused(self, books, percent):
        with pytest.raises(agreements.PercentImpossible, match="above 0 and at most 100"):
            agreements.agree(key=make.key("a"), party_key=BRINDLE_YARD, name="A", percent=percent, from_on=oct(1), by=1)

        assert not Agreement.objects.exists()

    def test_end_before_the_beginning_is_refused(self, books):
        agreement = make.agreed(40)

        with pytest.raises(agreements.EndImpossible, match="on or after the day"):
            agreements.end(agreement_id=agreement.id, until_on=date(2026, 9, 30))
        with pytest.raises(agreements.EndImpossible):
            make.agreed(40, key_name="x", until_on=date(2026, 9, 30))

        assert Agreement.objects.get().until_on is None
