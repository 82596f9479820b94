"""Rules of the books that are told by an example nowhere else, each by its number."""

import pytest
from django.urls import reverse

from ledger.actions import charges, goods
from ledger.models import Account, Gift, Inflow, Posting, Use
from tests.ledger import make
from tests.ledger.make import oct

pytestmark = pytest.mark.django_db


@pytest.fixture
def books():
    make.books()


def post(*slips, today=14):
    return charges.post_day(slips=list(slips), by=make.MANAGER, today=oct(today), at=make.at(oct(today)))


def test_a1_the_holder_is_named_on_what_is_printed(client):
    from tests.clinic import make as clinics

    clinic = clinics.open_clinic()
    animal = clinic.admit().animal
    client.force_login(clinic.manager)

    page = client.get(reverse("clinic:who_paid", args=[animal.pk])).content.decode()

    assert "Larkweir Animal Fund" in page


def test_a2_the_practice_is_a_supplier_and_its_wages_are_not_in_these_books(books):
    """What is asked for care is owed to the practice; no account holds payroll, rent or bought stock."""
    make.opened(make.general(), 50_00)
    post(make.slip())

    assert make.account("due_to_practice") == -24_00
    assert not Account.objects.filter(name__iregex="payroll|wage|salar|rent|stock").exists()


def test_e1_the_oldest_money_pays_first_and_a_later_discovery_reshuffles_nothing(books):
    """Received on the 5th and the 3rd: the 3rd pays. A gift of the 1st that is recorded afterwards waits behind."""
    late, early = make.gift(make.general(), 24_00, oct(5), "late"), make.gift(make.general(), 24_00, oct(3), "early")
    post(make.slip())
    found = make.gift(make.general(), 24_00, oct(1), "found in the drawer")

    paid = dict(Use.objects.values_list("inflow__gift", "amount_minor"))
    assert paid == {early.id: 24_00}
    left = dict(Inflow.objects.values_list("gift", "left_minor"))
    assert left == {late.id: 24_00, early.id: 0, found.id: 24_00}


def test_e1_every_income_waits_in_one_line(books):
    """An opening balance of the 1st pays before a gift of the 2nd."""
    make.opened(make.general(), 20_00)
    gift = make.gift(make.general(), 20_00, oct(2))
    post(make.slip())

    assert Inflow.objects.get(gift=gift).left_minor == 16_00
    assert Inflow.objects.get(gift=None).left_minor == 0


def test_e7_goods_are_kept_apart_from_money(books):
    make.bandage(10_00)

    assert make.by_name()["Donated goods"] == 10_00
    assert make.by_name()["General"] == 0
    assert (make.account("bank"), make.account("gifts")) == (0, 0)


def test_e7_time_is_never_a_gift(books):
    """There is no way to give time: goods have a thing, a quantity and a fair value, money has an amount."""
    assert set(Gift.Way.values) == {"bank", "giving_site", "goods", "opening", "past"}
    with pytest.raises(goods.IncomeRefused, match="above zero"):
        make.bandage(0)


def test_h1_a_posting_moves_one_positive_amount_inside_one_fund(books):
    make.opened(make.general(), 50_00)
    make.agreed(40)
    line = post(make.slip(party_key=make.BRINDLE_YARD)).lines[0]

    rows = Posting.objects.filter(entry=line.entry_number)
    assert all(row.amount_minor > 0 and row.debit_id != row.credit_id for row in rows)
    assert {row.on for row in rows} == {line.on}
    assert {row.charge_id for row in rows} == {line.charge_id}
