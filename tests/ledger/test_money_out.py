"""Money out and a partner's own money: spending, the practice, payments, deposits, a debt given up (A2, F3)."""

from datetime import date

import pytest

from ledger import posting
from ledger.actions import partner_money, practice, reversals, spending
from ledger.actions.charges import correct, post_day
from ledger.actions.income import AmountImpossible, DateAhead, FundNotForGifts
from ledger.audit import audit
from ledger.models import Entry, Fund
from ledger.queries.owed import party_money, practice_due
from ledger.triggers import words
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD, oct
from tests.ledger.test_attacks import both, refused, rows
from tests.ledger.test_attacks import posting as leg_of

COMMON = {"by": make.BOOKKEEPER, "today": oct(20), "at": make.at(oct(20))}
FOURTEENTH = oct(14)


def care(*lines: tuple[str, date, int], today: date = FOURTEENTH, **facts):
    slips = [
        make.slip(name, care_on=on, asked_minor=asked, usual_minor=asked, cost_minor=asked, **facts)
        for name, on, asked in lines
    ]
    return post_day(slips=slips, by=1, today=today, at=make.at(today))


class TestSpending:
    def spend(self, amount_minor: int = 12_00, **facts):
        facts = {"kind": "management", "fund_id": make.general().id, "words": "Bank charges", "on": oct(9), **facts}
        return spending.spend(key=make.key("spends"), amount_minor=amount_minor, **facts, **COMMON)

    def test_is_no_animals_and_may_go_short_by_what_has_happened(self, books):
        entry = self.spend()

        assert make.legs(entry.id) == [("management", "bank", 12_00, "General")]
        assert make.by_name()["General"] == -12_00
        make.gift(make.general(), 20_00, oct(10))
        assert make.by_name()["General"] == 8_00
        assert audit().findings == ()

    @pytest.mark.parametrize(
        ("facts", "refusal", "sentence"),
        [
            ({"fund_id": "leg"}, spending.GivenForCare, "Bracken's leg was given for her leg, and nothing else"),
            ({"fund_id": "given"}, FundNotForGifts, "Choose another fund"),
            ({"words": " "}, spending.SpendingUnnamed, "Write what it was spent on"),
            ({"kind": "boarding"}, spending.SpendingUnclear, "charged on the animal's page"),
            ({"amount_minor": 0}, AmountImpossible, "must be above zero"),
            ({"on": oct(21)}, DateAhead, "has not come yet"),
        ],
    )
    def test_that_cannot_be_is_refused_by_name(self, books, facts, refusal, sentence):
        leg = make.fund("Bracken's leg", "animal", subject_key=BRACKEN, given_for="her leg")
        known = {"leg": leg.id, "given": Fund.objects.get(kind="given").id}
        before = rows()

        with pytest.raises(refusal, match=sentence):
            self.spend(**{name: known.get(value, value) for name, value in facts.items()})

        assert rows() == before

    def test_the_database_itself_keeps_restricted_money_for_care(self, posted):
        leg = Fund.objects.get(kind="animal")

        refused(
            lambda: both(leg_of(fund=leg, debit_id="management", credit_id="bank", amount_minor=1)),
            words.GIVEN_FOR_CARE,
        )


@pytest.fixture
def owing(books):
    """General owes 24.00 of October 3 and 10.00 of October 9, Bracken's leg 16.00 of October 5."""
    make.opened(make.general(), 100_00)
    leg = make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
    make.gift(leg, 16_00, oct(1))
    care(("a", oct(3), 24_00), ("c", oct(9), 10_00), subject_key="o" * 32)
    care(("b", oct(5), 16_00))
    return leg


class TestPractice:
    def pay(self, amount_minor=None, name="pays", **facts):
        facts = {"on": oct(15), **facts}
        return practice.pay(key=make.key(name), amount_minor=amount_minor, **facts, **COMMON)

    def test_all_that_is_due_fund_by_fund(self, owing):
        due = practice_due()
        assert [(line.fund_name, line.amount_minor, line.oldest_on) for line in due.lines] == [
            ("Bracken's leg", 16_00, oct(5)),
            ("General", 34_00, oct(3)),
        ]

        entry = self.pay()

        assert sorted(make.legs(entry.id), key=lambda leg: leg[3]) == [
            ("due_to_practice", "bank", 16_00, "Bracken's leg"),
            ("due_to_practice", "bank", 34_00, "General"),
        ]
        assert (practice_due().lines, make.by_name()["General"]) == ((), 66_00)
        assert audit().findings == ()

    def test_a_part_pays_the_oldest_care_first_whichever_fund_owes_it(self, owing):
        self.pay(30_00)

        assert [(line.fund_name, line.amount_minor, line.oldest_on) for line in practice_due().lines] == [
            ("Bracken's leg", 10_00, oct(5)),
            ("General", 10_00, oct(9)),
        ]
        self.pay(15_00, "again")
        assert [(line.fund_name, line.amount_minor) for line in practice_due().lines] == [("General", 5_00)]

    def test_what_a_correction_gave_back_after_it_was_paid_is_set_off(self, owing):
        self.pay()
        wrong = Entry.objects.filter(kind="charge").order_by("id").first().charge
        correct(key=make.key("w"), charge_id=wrong.id, slip=None, why="Another dog.", **COMMON)
        assert practice_due().total_minor == -24_00
        with pytest.raises(practice.NothingDue):
            self.pay(name="too soon")

        care(("d", oct(16), 30_00), today=oct(20), subject_key="o" * 32)
        entry = self.pay(name="set off", on=oct(20))

        assert make.legs(entry.id) == [("due_to_practice", "bank", 6_00, "General")]

    @pytest.mark.parametrize(
        ("facts", "refusal", "sentence"),
        [
            ({"amount_minor": 50_01}, practice.PaidTooMuch, r"owe the practice 50\.00, and no more"),
            ({"amount_minor": -1}, AmountImpossible, "must be above zero"),
            ({"on": oct(21)}, DateAhead, "has not come yet"),
        ],
    )
    def test_that_cannot_be_is_refused_by_name(self, owing, facts, refusal, sentence):
        before = rows()

        with pytest.raises(refusal, match=sentence):
            self.pay(**facts)

        assert rows() == before


@pytest.fixture
def agreed(books):
    """Brindle Yard owes 40.00 for September and 20.00 for October, all of it by agreement."""
    make.agreed(100, from_on=date(2026, 9, 1))
    care(("s", date(2026, 9, 12), 40_00), party_key=BRINDLE_YARD)
    care(("o", oct(9), 20_00), party_key=BRINDLE_YARD)
    return BRINDLE_YARD


def did(what: str, amount_minor: int, name: str = "", **facts):
    facts = {"on": oct(15), **facts}
    record = getattr(partner_money, what)
    return record(key=make.key(name or what), party_key=BRINDLE_YARD, amount_minor=amount_minor, **facts, **COMMON)


def months() -> list[tuple[date, int]]:
    return [(line.month, line.open_minor) for line in party_money(party_key=BRINDLE_YARD).months]


SEPTEMBER, OCTOBER = date(2026, 9, 1), oct(1)


class TestPartner:
    def test_f3_a_payment_settles_the_oldest_month_first(self, agreed):
        assert months() == [(SEPTEMBER, 40_00), (OCTOBER, 20_00)]

        did("pay", 45_00)

        assert months() == [(OCTOBER, 15_00)]
        assert make.account("due_from_partners") == 15_00
        assert audit().findings == ()

    def test_f3_a_late_entry_for_a_paid_month_is_open_again(self, agreed):
        did("pay", 60_00)

        care(("late", date(2026, 9, 20), 5_00), today=oct(16), party_key=BRINDLE_YARD, late=True)

        assert sum(minor for _, minor in months()) == 5_00

    def test_f3_what_is_over_becomes_its_deposit_and_goes_back(self, agreed):
        entry = did("pay", 70_00)

        assert make.legs(entry.id) == [
            ("bank", "due_from_partners", 60_00, "Brindle Yard agreement"),
            ("bank", "partner_deposits", 10_00, "Brindle Yard agreement"),
        ]
        back = did("return_deposit", 10_00)
        assert make.legs(back.id) == [("partner_deposits", "bank", 10_00, "Brindle Yard agreement")]
        assert party_money(party_key=BRINDLE_YARD).deposit_minor == 0
        assert audit().findings == ()

    def test_f3_a_deposit_settles_what_is_owed(self, agreed):
        did("deposit", 50_00)
        assert (months(), party_money(party_key=BRINDLE_YARD).deposit_minor) == (
            [(SEPTEMBER, 40_00), (OCTOBER, 20_00)],
            50_00,
        )

        did("use_deposit", 50_00)

        assert (months(), party_money(party_key=BRINDLE_YARD).deposit_minor) == ([(OCTOBER, 10_00)], 0)

    def test_f3_a_debt_given_up_is_named_and_general_money_bears_it(self, agreed):
        entry = did("give_up", 15_00, words="The group has dissolved.")

        assert make.legs(entry.id) == [
            ("bank", "due_from_partners", 15_00, "Brindle Yard agreement"),
            ("debts_given_up", "bank", 15_00, "General"),
        ]
        assert (make.by_name()["General"], make.account("bank")) == (-15_00, 0)
        assert entry.by == make.BOOKKEEPER
        assert months() == [(SEPTEMBER, 25_00), (OCTOBER, 20_00)]
        assert audit().findings == ()

    def test_a_deposit_that_was_used_cannot_simply_be_taken_back(self, agreed):
        entry = did("deposit", 50_00)
        did("use_deposit", 30_00)
        before = rows()

        with pytest.raises(posting.DepositUsed, match="Take back what it was used for first"):
            reversals.take_back(key=make.key("b"), number=entry.id, why="Oh", **COMMON)

        assert rows() == before

    def test_the_database_itself_keeps_a_deposit_above_zero(self, agreed):
        did("deposit", 5_00)
        fund = Fund.objects.get(kind="agreement")

        refused(
            lambda: both(leg_of(fund=fund, debit_id="partner_deposits", credit_id="bank", amount_minor=5_01)),
            words.DEPOSIT_BELOW_ZERO,
        )

    @pytest.mark.parametrize(
        ("what", "facts", "refusal", "sentence"),
        [
            ("give_up", {"amount_minor": 60_01, "words": "x"}, partner_money.OwesLess, r"owes 60\.00, and no more"),
            ("give_up", {"amount_minor": 5_00, "words": " "}, partner_money.ReasonMissing, "by name: write why"),
            ("use_deposit", {"amount_minor": 5_00}, partner_money.DepositSmaller, r"deposit is 0\.00"),
            ("return_deposit", {"amount_minor": 1}, partner_money.DepositSmaller, "Write at most that"),
            ("pay", {"amount_minor": 0}, AmountImpossible, "must be above zero"),
            ("pay", {"amount_minor": 1, "on": oct(21)}, DateAhead, "has not come yet"),
        ],
    )
    def test_that_cannot_be_is_refused_by_name(self, agreed, what, facts, refusal, sentence):
        before = rows()

        with pytest.raises(refusal, match=sentence):
            did(what, **facts)

        assert rows() == before

    def test_a_partner_without_an_agreement_is_refused_by_name(self, books):
        before = rows()

        with pytest.raises(partner_money.PartnerUnknown, match="Make an agreement first"):
            did("pay", 5_00)

        assert rows() == before

    def test_nothing_owed_is_told(self, books):
        make.agreed(100)

        with pytest.raises(partner_money.NothingOwed, match="Record what it paid as a deposit"):
            did("give_up", 5_00, words="x")
