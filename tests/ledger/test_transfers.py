"""Transfers between funds that nobody restricted (E5), and what is left of a fund that is not needed any more (E4)."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from ledger.actions import donors, funds, leftovers, reversals, transfers
from ledger.actions.charges import post_day
from ledger.actions.income import AmountImpossible, DateAhead
from ledger.audit import audit
from ledger.models import Donor, Entry, Fund, Gift, Inflow, LeftoverAnswer
from ledger.posting import KeyUsedBefore, MoneySpent
from ledger.queries.donor_money import donor_money
from ledger.queries.donor_trace import donor_trace
from ledger.queries.gift_flows import flows
from ledger.queries.leftovers import leftover
from ledger.queries.leftovers import leftovers as list_leftovers
from ledger.triggers import words
from tests.ledger import make
from tests.ledger.make import BRACKEN, oct
from tests.ledger.test_attacks import both, posting, refused, rows

TENTH = oct(10)


def donor(name: str) -> int:
    return donors.add(key=make.key(name), name=name, on=oct(1), by=make.BOOKKEEPER).id


def moved(giving: Fund, taking: Fund, amount_minor: int, on: date = TENTH, name: str = "transfer", **facts):
    return transfers.transfer(
        key=make.key(name),
        from_fund_id=giving.id,
        to_fund_id=taking.id,
        amount_minor=amount_minor,
        on=on,
        by=make.BOOKKEEPER,
        today=facts.pop("today", oct(14)),
        at=make.at(oct(14)),
        **facts,
    )


@pytest.fixture
def legacy(books):
    """A legacy of 900.00 from an estate, and the box at the counter, 50.00, in a reserve."""
    reserve = make.fund("Barrowby legacy", "reserve", is_restricted=False)
    make.gift(reserve, 900_00, oct(2), "estate", donor_id=donor("Estate of L. Barrowby"))
    make.gift(reserve, 50_00, oct(4), "box")
    return reserve


class TestTransfers:
    def test_e5_a_legacy_feeds_general_money_and_the_trace_goes_on(self, legacy):
        """E5: the inflow in the new fund keeps the gift and the date received, one for each gift and date taken."""
        entry = moved(legacy, make.general(), 920_00)

        assert make.legs(entry.id) == [
            ("transfers", "bank", 920_00, "Barrowby legacy"),
            ("bank", "transfers", 920_00, "General"),
        ]
        came = Inflow.objects.filter(entry=entry).order_by("id")
        assert [(row.received_on, row.gift.amount_minor, row.amount_minor) for row in came] == [
            (oct(2), 900_00, 900_00),
            (oct(4), 50_00, 20_00),
        ]
        assert make.by_name() == {**make.by_name(), "Barrowby legacy": 30_00, "General": 920_00}
        assert audit().findings == ()

    def test_e5_a_reserve_pays_for_no_care_until_it_was_moved(self, legacy):
        """D1, E5: a reserve is never a payer; what was moved out of it is paid by the estate's own gift."""
        first = post_day(slips=[make.slip("one")], by=1, today=oct(14), at=make.at(oct(14)))
        moved(legacy, make.general(), 100_00)
        second = post_day(slips=[make.slip("two")], by=1, today=oct(14), at=make.at(oct(14)))

        assert (first.nobody_minor, second.nobody_minor) == (24_00, 0)
        trace = donor_trace(donor_id=Donor.objects.first().id, from_on=oct(1), to_on=oct(31))
        assert (trace.given_minor, trace.paid_minor, trace.left_again_minor, trace.waiting_minor) == (
            900_00,
            24_00,
            0,
            876_00,
        )
        assert trace.adds_up
        flow = flows(donor_money(ids=(Donor.objects.first().id,), from_on=oct(1), to_on=oct(31)))
        assert [(row.start_minor, row.paid_minor, row.left_again_minor, row.waiting_minor) for row in flow] == [
            (900_00, 24_00, 0, 876_00)
        ]

    def test_taken_back_goes_home(self, legacy):
        entry = moved(legacy, make.general(), 920_00)

        reversals.take_back(key=make.key("back"), number=entry.id, by=1, today=oct(14), at=make.at(oct(14)), why="Oh")

        assert (make.by_name()["Barrowby legacy"], make.by_name()["General"]) == (950_00, 0)
        assert donor_trace(donor_id=Donor.objects.first().id, from_on=oct(1), to_on=oct(31)).adds_up
        assert audit().findings == ()

    def test_what_it_paid_since_cannot_simply_leave(self, legacy):
        entry = moved(legacy, make.general(), 24_00)
        post_day(slips=[make.slip("one")], by=1, today=oct(14), at=make.at(oct(14)))
        before = rows()

        with pytest.raises(MoneySpent):
            reversals.take_back(key=make.key("b"), number=entry.id, by=1, today=oct(14), at=make.at(oct(14)), why="Oh")

        assert rows() == before

    def test_twice_is_once_and_other_content_is_refused(self, legacy):
        assert moved(legacy, make.general(), 5_00) == moved(legacy, make.general(), 5_00)
        with pytest.raises(KeyUsedBefore, match="write it anew"):
            moved(legacy, make.general(), 6_00)

    @pytest.mark.parametrize(
        ("case", "refusal", "sentence"),
        [
            ("restricted", transfers.RestrictedStays, "was given for dressings and cannot go to another purpose"),
            ("into restricted", transfers.NotRestrictedSo, "the house's own money never becomes so"),
            ("same", transfers.SameFund, "Choose another fund"),
            ("given", transfers.NoFundOfMoney, "holds no money of its own"),
            ("closed", transfers.FundShut, "Old is closed"),
            ("too large", transfers.TransferTooLarge, "did not hold this much"),
            ("too early", transfers.TransferTooLarge, "Move less, or on a later day"),
            ("nothing", AmountImpossible, "must be above zero"),
            ("ahead", DateAhead, "has not come yet"),
        ],
    )
    def test_that_cannot_be_is_refused_by_name(self, legacy, case, refusal, sentence):
        wound = make.fund("Wound fund", "purpose", purpose={"dressing"}, given_for="dressings")
        make.gift(wound, 10_00, oct(2))
        old = make.fund("Old", "reserve", is_restricted=False)
        funds.close(fund_id=old.id, on=oct(3))
        general, given = make.general(), Fund.objects.get(kind="given")
        cases = {
            "restricted": (wound, general, 5_00, oct(10)),
            "into restricted": (legacy, wound, 5_00, oct(10)),
            "same": (legacy, legacy, 5_00, oct(10)),
            "given": (legacy, given, 5_00, oct(10)),
            "closed": (legacy, old, 5_00, oct(10)),
            "too large": (legacy, general, 950_01, oct(10)),
            "too early": (legacy, general, 901_00, oct(3)),
            "nothing": (legacy, general, 0, oct(10)),
            "ahead": (legacy, general, 5_00, oct(15)),
        }
        before = rows()

        with pytest.raises(refusal, match=sentence):
            moved(*cases[case])

        assert rows() == before

    def test_the_database_itself_keeps_restricted_money_where_it_is(self, posted):
        leg = Fund.objects.get(kind="animal")
        make.gift(leg, 5_00, oct(20), "more")

        refused(
            lambda: both(posting(fund=leg, debit_id="transfers", credit_id="bank", amount_minor=1)),
            words.RESTRICTED_STAYS,
        )


@pytest.fixture
def leg(books):
    """Bracken's leg: 40.00 of a donor under the clause, 25.00 and 10.00 of givers who never saw it; 24.00 spent."""
    wound = make.fund("Wound fund", "purpose", purpose={"dressing"})
    found = make.fund("Bracken's leg", "animal", subject_key=BRACKEN, leftover_to=wound.id)
    make.gift(found, 40_00, oct(2), "saw it", donor_id=donor("Ottoline Marsh"))
    make.gift(found, 25_00, oct(3), "never saw it", donor_id=donor("Hale Wintringham"), clause_unseen=True)
    make.gift(found, 10_00, oct(4), "the box", clause_unseen=True)
    post_day(slips=[make.slip("one")], by=1, today=oct(14), at=make.at(oct(14)))
    return found


COMMON = {"by": make.MANAGER, "today": oct(20), "at": make.at(oct(20))}
WHY = "Bracken was adopted on October 18; the last bill is in."


def clause_applies(leg: Fund, name: str = "leftover", **facts):
    facts = {"to_fund_id": leg.leftover_to_id, "why": WHY, **facts}
    return leftovers.move(key=make.key(name), fund_id=leg.id, **facts, **COMMON)


def gift(place: int) -> Gift:
    return Gift.objects.order_by("id")[place - 1]


def answered(leg: Fund, place: int, answer: str, name: str = "answer", why: str = "By letter of October 19."):
    return leftovers.answer(
        key=make.key(name), fund_id=leg.id, gift_id=gift(place).id, answer=answer, why=why, **COMMON
    )


class TestLeftovers:
    def test_e4_what_was_given_under_the_clause_moves_and_silence_moves_nothing(self, leg):
        entry = clause_applies(leg)

        assert (entry.kind, make.legs(entry.id)) == (
            "leftover",
            [("transfers", "bank", 16_00, "Bracken's leg"), ("bank", "transfers", 16_00, "Wound fund")],
        )
        leg.refresh_from_db()
        assert (leg.leftover_by, leg.leftover_on, leg.leftover_why) == (make.MANAGER, oct(20), WHY)
        assert make.by_name()["Bracken's leg"] == 35_00
        told = leftover(fund_id=leg.id)
        assert [(gift.donor_name, gift.left_minor, gift.answer_words) for gift in told.to_ask] == [
            ("Hale Wintringham", 25_00, ""),
            ("Somebody unknown", 10_00, ""),
        ]
        assert (told.under_clause_minor, told.unanswered) == (0, 2)
        assert [fund.name for fund in list_leftovers().waiting] == ["Bracken's leg"]
        assert [(row.to_name, row.amount_minor) for row in list_leftovers().moved] == [("Wound fund", 16_00)]
        assert audit().findings == ()

    @pytest.mark.parametrize(
        ("answer", "leg_left", "wound", "kind"),
        [("move", 10_00, 41_00, "leftover"), ("refund", 10_00, 16_00, "return"), ("leave", 35_00, 16_00, None)],
    )
    def test_e4_the_answer_is_recorded_per_gift_by_name(self, leg, answer, leg_left, wound, kind):
        clause_applies(leg)

        kept = answered(leg, 2, answer)

        assert (kept.answer, kept.by, kept.amount_minor) == (answer, make.MANAGER, 25_00)
        assert (kept.entry.kind if kept.entry else None) == kind
        assert (make.by_name()["Bracken's leg"], make.by_name()["Wound fund"]) == (leg_left, wound)
        assert answered(leg, 2, answer) == kept
        assert donor_trace(donor_id=gift(2).donor_id, from_on=oct(1), to_on=oct(31)).adds_up
        assert audit().findings == ()

    def test_e4_who_said_leave_may_say_move_later(self, leg):
        clause_applies(leg)
        answered(leg, 2, "leave")

        answered(leg, 2, "move", "later")

        assert [row.answer for row in LeftoverAnswer.objects.order_by("id")] == ["leave", "move"]
        assert leftover(fund_id=leg.id).to_ask[0].donor_name == "Somebody unknown"

    def test_e4_where_nobody_saw_the_clause_only_the_judgment_is_kept(self, books):
        wound = make.fund("Wound fund", "purpose", purpose={"dressing"})
        fund = make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
        make.gift(fund, 10_00, oct(4), clause_unseen=True)

        assert leftovers.move(key=make.key("l"), fund_id=fund.id, to_fund_id=wound.id, why=WHY, **COMMON) is None

        assert leftover(fund_id=fund.id).judged_why == WHY
        assert Entry.objects.filter(kind="leftover").count() == 0

    @pytest.mark.parametrize(
        ("case", "refusal", "sentence"),
        [
            ("elsewhere", leftovers.ClauseGoesElsewhere, "names Wound fund"),
            ("no reason", leftovers.WhyMissing, "Write why"),
            ("unrestricted", leftovers.NotRestricted, "Record a transfer instead"),
            ("twice", leftovers.NothingLeft, "Nothing of this is left"),
            ("not judged", leftovers.NotJudged, "Move what was given under the clause first"),
            ("clause seen", leftovers.ClauseSeen, "This giver saw the leftover clause"),
            ("refund to nobody", leftovers.GiverUnknown, "Nobody knows who gave this"),
            ("answered twice", leftovers.NothingLeft, "Nothing of this is left"),
            ("answer without a reason", leftovers.WhyMissing, "in a few words"),
        ],
    )
    def test_that_cannot_be_is_refused_by_name(self, leg, case, refusal, sentence):
        if case not in {"elsewhere", "no reason", "unrestricted", "not judged"}:
            clause_applies(leg)
        if case == "answered twice":
            answered(leg, 2, "move", "first")
        tries = {
            "elsewhere": lambda: clause_applies(leg, to_fund_id=make.general().id),
            "no reason": lambda: clause_applies(leg, why=" "),
            "unrestricted": lambda: leftovers.move(
                key=make.key("u"), fund_id=make.general().id, to_fund_id=leg.id, why=WHY, **COMMON
            ),
            "twice": lambda: clause_applies(leg, "again"),
            "not judged": lambda: answered(leg, 2, "move"),
            "clause seen": lambda: answered(leg, 1, "move"),
            "refund to nobody": lambda: answered(leg, 3, "refund"),
            "answered twice": lambda: answered(leg, 2, "move"),
            "answer without a reason": lambda: answered(leg, 2, "move", why=""),
        }
        before = rows()

        with pytest.raises(refusal, match=sentence):
            tries[case]()

        assert rows() == before


@pytest.mark.parametrize("attack", ["update", "delete", "copy"])
def test_an_answer_is_never_changed(leg, attack):
    clause_applies(leg)
    kept = answered(leg, 2, "move")
    attacks = {
        "update": (lambda: LeftoverAnswer.objects.update(answer="refund"), words.NEVER_CHANGED),
        "delete": (lambda: LeftoverAnswer.objects.all()._raw_delete("default"), words.NEVER_DELETED),
        "copy": (lambda: kept.save(force_insert=True), words.NEVER_REPLACED),
    }
    attack, sentence = attacks[attack]

    with pytest.raises(IntegrityError, match=f"{sentence}|unique|duplicate"), transaction.atomic():
        attack()

    assert list(LeftoverAnswer.objects.values_list("answer", flat=True)) == ["move"]
