"""The shelf through its pages: what arrives, what is counted, who sees amounts, and each refusal at its field."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from clinic.actions import services, supplies
from clinic.models import StockCount, SupplyLot
from ledger.models import Gift
from tests.clinic import make
from tests.clinic.make import DAY
from tests.clinic.test_staff import BACKEND, page

pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic(settings):
    settings.AS_OF = "2026-10-14"
    return make.open_clinic()


@pytest.fixture
def roll(clinic):
    kit = services.fill_kit(service=clinic.dressing, supplies=[("bandage", "Padding bandage", "roll", Decimal("0.5"))])
    found = kit.lines.get().supply
    supplies.set_packs(supply=found, packs={"box": Decimal(12)})
    return found


def sent(client, name: str, /, *args, **said):
    return client.post(reverse(f"clinic:{name}", args=args), {"key": "7d5f0a37-1f43-4f57-9d3b-0a4b1c6b8e10", **said})


def test_a_lot_arrives_is_shown_with_its_worth_and_typed_wrong_goes_again(client, clinic, roll):
    client.force_login(clinic.bookkeeper, BACKEND)
    said = {"quantity": "2", "unit": "box", "cost_minor": "48.00", "arrived_on": "2026-10-12", "number": "K-118"}
    assert (
        sent(client, "lot_add", roll.pk, **said, expires_on="2026-11-02", words="Weir Lane Wholesale").status_code
        == 303
    )

    shelf, one = page(client, "supplies"), page(client, "supply", roll.pk)

    assert "24 rolls" in shelf and "48.00" in shelf and "November 2, 2026" in shelf and "in Padded dressing" in shelf
    assert "2 boxes, bought" in one and "Weir Lane Wholesale, lot K-118" in one and "1 box = 12 roll" in one
    assert "no controlled-drugs register: keep the legal one" in shelf and "keep the legal one" in one

    assert sent(client, "lot_take_back", SupplyLot.objects.get().pk, why="another supply").status_code == 303
    assert "lot taken back" in page(client, "supply", roll.pk)


def test_a_given_lot_enters_the_books(client, clinic, roll):
    client.force_login(clinic.bookkeeper, BACKEND)
    said = {"quantity": "5", "unit": "roll", "fair_value_minor": "31.00", "arrived_on": "2026-10-12"}
    assert sent(client, "lot_given", roll.pk, **said).status_code == 303

    shown = page(client, "supply", roll.pk)

    gift = Gift.objects.get()
    assert (gift.way, gift.amount_minor, gift.unit) == ("goods", 3100, "roll")
    assert f"entry {gift.entry_id}" in shown and "Of it donated" in shown and "31" in shown


def test_the_ward_counts_and_sees_no_amount(client, clinic, roll):
    """J0: the lot cost 47.60, and nothing of it is on any page of the ward."""
    make.shelf(clinic, roll, "4", cost=4760)
    client.force_login(clinic.nurse, BACKEND)
    unexplained = sent(client, "supply_count", roll.pk, found="3")
    assert unexplained.status_code == 422
    assert "4 rolls were expected" in unexplained.content.decode()
    assert sent(client, "supply_count", roll.pk, found="3", why="torn").status_code == 303

    assert StockCount.objects.get().why == "torn"
    for name, args in (("supplies", ()), ("supply", (roll.pk,)), ("supply_count", (roll.pk,))):
        shown = page(client, name, *args)
        assert not any(amount in shown for amount in ("47.60", "35.70", "11.90", ">47<")), name
    assert "counted by PQ: 3, where 4 were expected" in page(client, "supply", roll.pk)
    assert client.get(reverse("clinic:lot_add", args=[roll.pk])).status_code == 403


REFUSED = {
    "an unknown unit": ("lot_add", {"unit": "pallet"}, "unit", "Select a valid choice"),
    "a day to come": ("lot_add", {"arrived_on": "2026-10-20"}, "arrived_on", "has not come yet"),
    "nothing": ("lot_add", {"quantity": "0"}, "quantity", "above zero"),
    "a cost below zero": ("lot_add", {"cost_minor": "-1"}, "cost_minor", "zero or more"),
    "a gift of no worth": ("lot_given", {"fair_value_minor": "0"}, "fair_value_minor", "above zero"),
    "a count below zero": ("supply_count", {"found": "-1"}, "found", "less than nothing"),
    "a pack without a number": ("supply_packs", {"packs": "box of twelve"}, "packs", "does not end with how many"),
    "a pack of nothing": ("supply_packs", {"packs": "box 0"}, "packs", "more than nothing"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_each_refusal_stands_at_its_field(client, clinic, roll, what):
    name, wrong, field, words = REFUSED[what]
    client.force_login(clinic.manager, BACKEND)
    whole = {"quantity": "1", "unit": "box", "cost_minor": "12", "fair_value_minor": "12", "arrived_on": "2026-10-12"}

    answer = sent(client, name, roll.pk, **(whole | wrong))

    assert answer.status_code == 422
    assert words in str(answer.context["form"].errors.get(field)), answer.context["form"].errors
    assert (SupplyLot.objects.count(), StockCount.objects.count(), roll.packs.count()) == (0, 0, 1)


def test_what_was_given_and_not_signed_is_off_the_shelf_and_sets_the_pace(client, clinic, roll):
    """Ten dressings in the last thirty days took 5 rolls; the 7 that are left last 42 days."""
    make.shelf(clinic, roll, "12", on=date(2026, 10, 1))
    animal = clinic.admit().animal
    for _ in range(10):
        clinic.give(animal, clinic.dressing, on=DAY)
    client.force_login(clinic.vet, BACKEND)

    shelf = page(client, "supplies")

    assert "7 rolls" in shelf and "42 days" in shelf and "Runs out next" in shelf


def test_more_given_than_on_hand_is_counted_short(client, clinic, roll):
    make.shelf(clinic, roll, "1", on=date(2026, 10, 1))
    animal = clinic.admit().animal
    for _ in range(3):
        clinic.give(animal, clinic.dressing, on=DAY)
    client.force_login(clinic.bookkeeper, BACKEND)

    assert "short by 0.5" in page(client, "supplies")
    assert "Counted short by 0.5 rolls" in page(client, "supply", roll.pk)
    assert "0.5 rolls more were given to animals than are on hand" in page(client, "supply_count", roll.pk)


def test_what_is_past_its_day_is_told_apart_from_what_expires_next(client, clinic, roll):
    """Two lots: three rolls past their day, five good until December; the list and the first page say so."""
    make.shelf(clinic, roll, "3", on=date(2026, 9, 1), expires_on=date(2026, 10, 1))
    make.shelf(clinic, roll, "5", on=date(2026, 10, 1), expires_on=date(2026, 12, 1))
    client.force_login(clinic.manager, BACKEND)

    shown, first = page(client, "supplies"), page(client, "home")

    assert "Expired and still on the shelf:" in shown and "3 rolls" in shown and "3 expired" in shown
    assert "December 1, 2026" in shown and "October 1, 2026" not in shown
    assert "supply expired on the shelf" in first and "discard what is past its day" in first


def test_the_first_page_says_what_is_short_and_to_whom_it_falls(client, clinic, roll):
    make.shelf(clinic, roll, "1", on=date(2026, 10, 1))
    animal = clinic.admit().animal
    for _ in range(2):
        clinic.give(animal, clinic.dressing, on=DAY)
    client.force_login(clinic.nurse, BACKEND)
    assert "counted short" not in page(client, "home")
    clinic.give(animal, clinic.dressing, on=DAY)

    for person, verb in ((clinic.nurse, "Count it"), (clinic.vet, "Look at it")):
        client.force_login(person, BACKEND)
        shown = page(client, "home")
        assert "supply counted short" in shown and "0.5 rolls of padding bandage" in shown and verb in shown


def test_a_shelf_without_anything_offers_its_first_step(client, clinic):
    client.force_login(clinic.manager, BACKEND)

    assert "There is no supply yet" in page(client, "supplies")
    assert sent(client, "supply_add", name="Saline, 1 l", unit="bag").status_code == 303
    assert "not counted: no lot was entered yet" in page(client, "supplies")
    assert client.get(reverse("clinic:supply", args=[99])).status_code == 404
