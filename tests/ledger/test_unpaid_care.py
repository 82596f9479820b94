"""Care nobody has paid waits by animal, and is taken over by somebody named (D5)."""

import pytest

from ledger import posting
from ledger.actions import charges, unpaid_care
from ledger.audit import audit
from ledger.models import Entry
from ledger.queries.unpaid_care import unpaid_animals, unpaid_of_subject
from tests.ledger import make
from tests.ledger.make import BALLAST, BRACKEN, BRINDLE_YARD, oct
from tests.ledger.test_attacks import rows


@pytest.fixture
def unpaid(books):
    slips = [
        make.slip("one", care_on=oct(12), party_key=BRINDLE_YARD),
        make.slip("two", care_on=oct(13), party_key=BRINDLE_YARD),
        make.slip("other", subject_key=BALLAST, subject_words="Ballast", asked_minor=10_00),
    ]
    return charges.post_day(slips=slips, by=1, today=oct(14), at=make.at(oct(14)))


def take_over(**facts):
    defaults = {
        "key": make.key("take"),
        "subject_key": BRACKEN,
        "payer": "given",
        "by": make.MANAGER,
        "today": oct(20),
        "at": make.at(oct(20)),
        "why": "We give this.",
    }
    return unpaid_care.take_over(**{**defaults, **facts})


def test_waits_by_animal_the_oldest_first(unpaid):
    assert [(row.subject_words, row.amount_minor, row.oldest_on, row.lines) for row in unpaid_animals()] == [
        ("Bracken", 48_00, oct(12), 2),
        ("Ballast", 10_00, oct(13), 1),
    ]
    assert [row.subject_words for row in unpaid_animals(party_key=BRINDLE_YARD)] == ["Bracken"]
    assert [(line.charge.care_on, line.amount_minor) for line in unpaid_of_subject(subject_key=BRACKEN)] == [
        (oct(12), 24_00),
        (oct(13), 24_00),
    ]


def test_given_by_the_clinic(unpaid):
    taken = take_over()

    assert taken.amount_minor == 48_00
    assert [make.legs(number) for number in taken.entry_numbers] == [
        [("boarding", "donated_services", 24_00, "Given by the clinic")]
    ] * 2
    assert [row.subject_words for row in unpaid_animals()] == ["Ballast"]
    assert Entry.objects.get(id=taken.entry_numbers[0]).on == oct(20)
    assert audit().findings == ()


def test_paid_by_a_fund_up_to_an_amount_the_oldest_day_first(unpaid):
    make.gift(make.general(), 100_00, oct(19))

    taken = take_over(payer="fund", fund_id=make.general().id, most_minor=30_00)

    assert (taken.amount_minor, make.by_name()["General"]) == (30_00, 70_00)
    assert [line.amount_minor for line in unpaid_of_subject(subject_key=BRACKEN)] == [18_00]
    assert audit().findings == ()


def test_billed_to_the_partner(unpaid):
    make.agreed(40, from_on=oct(15))

    take_over(payer="agreement")

    assert make.account("due_from_partners") == 48_00
    assert make.by_name()["Brindle Yard agreement"] == 0
    assert audit().findings == ()


def test_twice_is_once_and_other_content_is_refused(unpaid):
    first = take_over()
    before = rows()

    assert take_over() == first
    with pytest.raises(posting.KeyUsedBefore):
        take_over(why="Another reason.")

    assert rows() == before


def test_refusals(unpaid):
    make.gift(make.general(), 10_00, oct(19))
    other = make.fund("Ballast", "animal", subject_key=BALLAST)
    make.gift(other, 100_00, oct(19))
    before = rows()

    for facts, refusal, sentence in (
        ({"payer": "fund", "fund_id": make.general().id}, unpaid_care.FundTooSmall, "General has less"),
        ({"payer": "fund", "fund_id": other.id}, unpaid_care.FundCannotTake, "given for something else"),
        ({"payer": "agreement"}, unpaid_care.NoAgreement, "Make one first"),
        ({"subject_key": "nobody"}, unpaid_care.NothingUnpaid, "nothing to take over"),
    ):
        with pytest.raises(refusal, match=sentence):
            take_over(**facts)

    assert rows() == before


def test_a_correction_gives_back_what_was_taken_over(unpaid):
    take_over()

    charges.correct(
        key=make.key("no"),
        charge_id=unpaid.lines[0].charge_id,
        slip=None,
        by=1,
        today=oct(21),
        at=make.at(oct(21)),
        why="Not there that day.",
    )

    assert make.account("donated_services") == -(18_00 + 32_00 + 24_00)
    assert audit().findings == ()


def test_taking_over_can_be_reversed_but_not_after_its_line_was(unpaid):
    first, second = take_over().entry_numbers
    posting.reverse(
        entry=Entry.objects.get(id=first), key=make.key("r"), on=oct(21), by=1, at=make.at(oct(21)), why="Not ours."
    )
    assert [line.amount_minor for line in unpaid_of_subject(subject_key=BRACKEN)] == [24_00]
    charges.correct(
        key=make.key("no"),
        charge_id=unpaid.lines[1].charge_id,
        slip=None,
        by=1,
        today=oct(21),
        at=make.at(oct(21)),
        why="Not there.",
    )
    before = rows()

    with pytest.raises(posting.ReversedAlready):
        posting.reverse(
            entry=Entry.objects.get(id=second), key=make.key("s"), on=oct(22), by=1, at=make.at(oct(22)), why="x"
        )

    assert rows() == before
    assert audit().findings == ()


class TestCorrecting:
    def correct(self, line, slip=None, name="c"):
        return charges.correct(
            key=make.key(name),
            charge_id=line.charge_id,
            slip=slip,
            by=1,
            today=oct(20),
            at=make.at(oct(20)),
            why="Wrong.",
        )

    def test_once_only(self, unpaid):
        first = self.correct(unpaid.lines[0])
        before = rows()

        assert self.correct(unpaid.lines[0]).reversal == first.reversal
        with pytest.raises(charges.CareCorrected, match="corrected already"):
            self.correct(unpaid.lines[0], name="again")

        assert rows() == before

    def test_keeps_the_animal(self, unpaid):
        before = rows()

        with pytest.raises(charges.SuccessorDiffers, match="stays with its animal"):
            self.correct(unpaid.lines[0], make.slip("new", subject_key=BALLAST))

        assert rows() == before

    def test_the_new_line_can_be_corrected_in_turn(self, unpaid):
        second = self.correct(unpaid.lines[0], make.slip("new"))
        third = self.correct(second.line, make.slip("newer"), name="in turn")

        assert len(unpaid_of_subject(subject_key=BRACKEN)) == 2
        assert third.line.on == oct(20)
        assert audit().findings == ()
