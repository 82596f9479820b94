"""What the clinic's pages and papers read from the books."""

import pytest

from ledger.actions import charges as charging
from ledger.actions import donors
from ledger.queries import charges
from ledger.queries.donor_trace import donor_trace, paid_by_gift
from ledger.queries.entry_story import entry_story
from ledger.queries.party_balances import party_balance, party_balances
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD, oct


@pytest.fixture
def traced(books):
    """Two gifts of one donor, one of another; two lines of care, the second corrected."""
    marsh = donors.add(key=make.key("marsh"), name="Ottoline Marsh", on=oct(1), by=1)
    leg = make.fund("Bracken's leg", "animal", subject_key=BRACKEN, given_for="Bracken's leg")
    make.gift(leg, 30_00, oct(2), "first", donor_id=marsh.id, fee_minor=1_20, way="giving_site")
    make.gift(leg, 20_00, oct(3), "of somebody else")
    make.gift(make.general(), 50_00, oct(4), "second", donor_id=marsh.id)
    make.agreed(40)
    slips = [make.slip("one", party_key=BRINDLE_YARD), make.slip("two", party_key=BRINDLE_YARD, words="Boarding again")]
    day = charging.post_day(slips=slips, by=1, today=oct(14), at=make.at(oct(14)))
    charging.correct(
        key=make.key("no"),
        charge_id=day.lines[1].charge_id,
        slip=None,
        by=1,
        today=oct(20),
        at=make.at(oct(20)),
        why="Not there.",
    )
    return marsh, day


def test_charges_of_an_animal(traced):
    found = charges.of_subject(subject_key=BRACKEN)

    assert [(line.words, line.asked_minor, line.reverses is not None) for line in found.lines] == [
        ("Boarding, standard", 24_00, False),
        ("Boarding again", 24_00, False),
        ("Boarding again", -24_00, True),
    ]
    assert [(payer.label, payer.amount_minor) for payer in found.by_payer] == [("Bracken's leg", 24_00)]
    assert (found.together.asked_minor, found.given_minor, found.nobody_minor) == (24_00, 18_00, 0)
    assert [(row.code, row.asked_minor) for row in found.by_kind] == [("boarding", 24_00)]
    assert [(row.on, row.asked_minor) for row in found.by_day] == [(oct(13), 24_00)]
    assert charges.of_party(party_key=BRINDLE_YARD).together == found.together
    assert charges.of_subject(subject_key=BRACKEN, from_on=oct(14)).lines == ()
    assert charges.of_subject(subject_key=BRACKEN, until_on=oct(12)).lines == ()
    assert charges.of_subject(subject_key=BRACKEN, plan_key="none").lines == ()
    assert charges.of_keys(slip_keys=[make.key("slip one")])[make.key("slip one")] == found.lines[0]


def test_a_donors_trace_adds_up(traced):
    marsh, _ = traced

    trace = donor_trace(donor_id=marsh.id, from_on=oct(1), to_on=oct(31))

    assert trace.adds_up
    assert [(gift.received_on, gift.amount_minor, gift.fund_names) for gift in trace.gifts] == [
        (oct(2), 30_00, ("Bracken's leg",)),
        (oct(4), 50_00, ("General",)),
    ]
    assert [(line.subject_words, line.words, line.amount_minor) for line in trace.paid] == [
        ("Bracken", "Boarding, standard", 24_00),
    ]
    assert (trace.given_minor, trace.fees_minor, trace.waiting_minor) == (80_00, 1_20, 54_80)
    assert [(line.fund_name, line.amount_minor) for line in trace.waiting] == [
        ("General", 50_00),
        ("Bracken's leg", 4_80),
    ]


def test_a_donors_trace_by_parts_of_the_month_adds_up(traced):
    """What was waiting before and what came is what was paid, what left again and what waits; a correction too."""
    marsh, _ = traced

    early = donor_trace(donor_id=marsh.id, from_on=oct(1), to_on=oct(14))
    late = donor_trace(donor_id=marsh.id, from_on=oct(15), to_on=oct(31))

    assert early.adds_up and late.adds_up
    assert late.waiting_before_minor == early.waiting_minor
    assert [(line.words, line.amount_minor) for line in late.paid] == [("Boarding again", -4_80)]


def test_goods_stand_apart_in_a_donors_trace(books):
    from decimal import Decimal

    from ledger.actions import goods

    donor = donors.add(key=make.key("d"), name="Quill & Sons", on=oct(1), by=1)
    goods.receive(
        key=make.key("g"),
        donor_id=donor.id,
        words="bandages",
        quantity=Decimal("2.5"),
        unit="box",
        fair_value_minor=9_00,
        received_on=oct(2),
        by=1,
        today=oct(2),
        at=make.at(oct(2)),
    )

    trace = donor_trace(donor_id=donor.id, from_on=oct(1), to_on=oct(31))

    assert (trace.gifts, trace.given_minor, trace.adds_up) == ((), 0, True)
    assert [(line.words, line.quantity, line.fair_value_minor) for line in trace.goods] == [
        ("bandages", Decimal("2.5"), 9_00)
    ]


def test_what_one_gift_paid(traced):
    marsh, _ = traced

    first, second = marsh.gifts.order_by("id")

    assert [line.amount_minor for line in paid_by_gift(gift_id=first.id)] == [24_00]
    assert paid_by_gift(gift_id=second.id) == ()


def test_an_entry_tells_its_story(traced):
    _, day = traced

    story = entry_story(number=day.lines[1].entry_number)

    assert (story.kind_words, story.subject_words, story.line_words) == ("care", "Bracken", "Boarding again")
    assert [(share.payer.label, share.reason) for share in story.shares] == [
        ("Bracken's leg", "names the animal"),
    ]
    assert [(used.donor_name, used.amount_minor) for used in story.used] == [("Ottoline Marsh", 4_80), ("", 19_20)]
    assert [(step.kind_words, step.note, step.is_here) for step in story.steps] == [
        ("care", "", True),
        ("correction of care", "Not there.", False),
    ]
    assert len(story.check_number) == 19
    assert entry_story(number=999) is None


def test_partners_balances(traced):
    yard = make.fund("Yard fund", "partner", party_key=BRINDLE_YARD)
    make.gift(yard, 7_00, oct(14))

    balance = party_balance(party_key=BRINDLE_YARD)

    assert party_balances() == (balance,)
    assert [(fund.name, fund.balance_minor) for fund in balance.funds] == [("Yard fund", 7_00)]
    assert (balance.due_minor, balance.unpaid_minor, balance.balance_minor) == (0, 0, 7_00)
    assert [(terms.percent_words, terms.of) for terms in balance.agreements] == [("40 %", "rest")]
    assert party_balance(party_key="unknown").funds == ()
