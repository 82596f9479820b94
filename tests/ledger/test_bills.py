"""Bills of outsiders in the books: owed to their senders, paid by the funds that owe them (B8); scans (H2)."""

import pytest
from django.db import IntegrityError, transaction

from config.uploads import KeptFile
from ledger.actions import bills, reversals, scans, unpaid_care
from ledger.actions.charges import SlipImpossible, correct, post_day
from ledger.actions.income import DateAhead
from ledger.audit import audit
from ledger.models import BillPayment, Scan
from ledger.posting import KeyUsedBefore
from ledger.queries.bills import bill_lines
from ledger.queries.scans import scans as read_scans
from ledger.triggers import words
from tests.ledger import make
from tests.ledger.make import BRACKEN, oct
from tests.ledger.test_attacks import rows

COMMON = {"by": make.BOOKKEEPER, "today": oct(20), "at": make.at(oct(20))}


def slip(amount_minor: int = 90_00, **facts):
    figures = dict.fromkeys(("cost_minor", "usual_minor", "asked_minor"), amount_minor)
    return make.slip("bill", kind="outside_services", words="Blood count", owed_to="bill", **figures, **facts)


@pytest.fixture
def bill(books):
    """A bill of 90.00: 60.00 owed by Bracken's leg, 20.00 by general money, 10.00 nobody has paid."""
    make.opened(make.general(), 20_00)
    leg = make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
    make.gift(leg, 60_00, oct(1))
    post_day(slips=[slip()], by=1, today=oct(14), at=make.at(oct(14)))
    return make.key("slip bill")


def pay(slip_key, name: str = "pays", **facts) -> BillPayment:
    facts = {"on": oct(15), **facts}
    return bills.pay(key=make.key(name), slip_key=slip_key, **facts, **COMMON)


def figures(slip_key) -> tuple[int, int, int]:
    line = bill_lines(slip_keys=[slip_key])[slip_key]
    return line.owed_minor, line.paid_minor, line.nobody_minor


def test_b8_it_is_owed_to_its_sender_and_paid_by_the_funds_that_owe_it(bill):
    assert (make.account("bills_to_pay"), make.account("due_to_practice")) == (-80_00, 0)
    assert figures(bill) == (80_00, 0, 10_00)

    payment = pay(bill)

    assert make.legs(payment.entry_id) == [
        ("bills_to_pay", "bank", 20_00, "General"),
        ("bills_to_pay", "bank", 60_00, "Bracken's leg"),
    ]
    assert (figures(bill), pay(bill)) == ((0, 80_00, 10_00), payment)
    assert audit().findings == ()


def test_b8_what_somebody_takes_over_later_is_owed_to_the_sender_too(bill):
    pay(bill)
    make.gift(make.general(), 10_00, oct(16))

    unpaid_care.take_over(
        key=make.key("t"), subject_key=BRACKEN, payer="fund", fund_id=make.general().id, why="Decided.", **COMMON
    )

    assert figures(bill) == (10_00, 80_00, 0)
    assert make.legs(pay(bill, "rest").entry_id) == [("bills_to_pay", "bank", 10_00, "General")]
    assert audit().findings == ()


def test_a_payment_typed_wrong_is_taken_back_and_paid_again(bill):
    first = pay(bill)

    reversals.take_back(key=make.key("b"), number=first.entry_id, why="Not yet paid", **COMMON)

    assert figures(bill) == (80_00, 0, 10_00)
    pay(bill, "again")
    assert figures(bill) == (0, 80_00, 10_00)
    assert audit().findings == ()


def test_a_bill_taken_back_owes_nothing(bill):
    charge = bill_lines(slip_keys=[bill])[bill].charge_id
    correct(key=make.key("c"), charge_id=charge, slip=None, why="Another dog's.", **COMMON)

    with pytest.raises(bills.NothingOwed, match="No fund owes anything of this bill"):
        pay(bill)
    assert make.account("bills_to_pay") == 0
    assert audit().findings == ()


@pytest.mark.parametrize(
    ("case", "refusal", "sentence"),
    [
        ("twice", bills.NothingOwed, "it is paid, or nobody has taken it yet"),
        ("unknown", bills.NotInTheBooks, "Accept it first"),
        ("ahead", DateAhead, "has not come yet"),
        ("other content", KeyUsedBefore, "write it anew"),
    ],
)
def test_that_cannot_be_is_refused_by_name(bill, case, refusal, sentence):
    if case in {"twice", "other content"}:
        pay(bill, "first")
    tries = {
        "twice": lambda: pay(bill),
        "unknown": lambda: pay(make.key("another")),
        "ahead": lambda: pay(bill, on=oct(21)),
        "other content": lambda: pay(bill, "first", on=oct(16)),
    }
    before = rows()

    with pytest.raises(refusal, match=sentence):
        tries[case]()

    assert rows() == before


def test_a_slip_is_owed_to_the_practice_or_for_a_bill():
    with pytest.raises(SlipImpossible, match="is nobody who is owed"):
        make.slip("x", owed_to="the moon")

    assert "owed_to" not in make.slip("x").sent, "a slip of the practice is known again as it was sent before"


def hang(number: int, name: str = "Invoice 17", digest: str = "a" * 64, key: str = "scan") -> Scan:
    file = KeptFile(sha256=digest, content_type="image/jpeg", size=7)
    return scans.hang(key=make.key(key), number=number, name=name, file=file, by=1, at=make.at(oct(20)))


def test_h2_scans_hang_on_an_entry(posted):
    first = hang(3)

    assert hang(3) == first
    assert hang(3, key="again") == first, "the same paper hangs on an entry once"
    hang(3, "Their letter", "b" * 64, "letter")
    assert [scan.name for scan in read_scans(number=3)] == ["Invoice 17", "Their letter"]
    with pytest.raises(scans.ScanNameless, match="Say what the paper is"):
        hang(3, " ", "c" * 64, "nameless")
    with pytest.raises(KeyUsedBefore):
        hang(3, "Another")


@pytest.mark.parametrize("model", [Scan, BillPayment], ids=lambda model: model.__name__)
@pytest.mark.parametrize("attack", ["update", "delete", "copy"])
def test_what_was_kept_is_never_changed(bill, model, attack):
    pay(bill)
    hang(1)
    row = model.objects.get()
    before = list(model.objects.values())
    attacks = {
        "update": (lambda: model.objects.update(**{"size" if model is Scan else "amount_minor": 1}), "never changed"),
        "delete": (lambda: model.objects.all()._raw_delete("default"), "never deleted"),
        "copy": (lambda: row.save(force_insert=True), f"{words.NEVER_REPLACED}|unique|duplicate"),
    }
    attack, sentence = attacks[attack]

    with pytest.raises(IntegrityError, match=sentence), transaction.atomic():
        attack()

    assert list(model.objects.values()) == before
