"""Whatever stands where a figure should, each reader of amounts takes it exactly or refuses it in one sentence.

Python turns no text of more than 4,300 digits into a number, and a small exponent into a number that fills the memory:
no such cell, field or address reaches either.
"""

from types import SimpleNamespace

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from clinic.forms import prices, shared_costs, staff, supplies
from clinic.management.commands.import_bank import Command
from clinic.models import House, User
from config import tables
from config.fields import AmountField, PriceField, QuantityField
from config.roles import Role
from ledger.formulas import bank_files, bank_tables, policies, typed_cells
from tests.ledger import make
from tests.ledger.bank import camt, ofx

ABSURD = (
    "9" * 5_000, "-" + "9" * 5_000, "1" + "0" * 4_400 + ".00", "0." + "0" * 5_000 + "1", "1," + "000," * 2_000 + "000",
    "1e5000", "1e999999999", "1e-999999999", "Infinity", "nan", "sNaN", "²",
)  # fmt: skip
READING = typed_cells.Reading(decimal=".", day_first=None)


def bank_table(cell: str) -> None:
    known = bank_tables.Known(account="A", currency="USD", digits=2, columns={"on": 0, "amount": 1}, closing_minor=5)
    bank_tables.statement([(2, ["2026-10-01", cell])], known)


def closing_of_a_command(text: str) -> None:
    def bad_input(sentence: str) -> None:
        raise ValueError(sentence)

    Command._closing(SimpleNamespace(bad_input=bad_input), text)


READERS = {
    "gift file": (lambda text: typed_cells.amount(text, reading=READING, digits=2), typed_cells.CannotStand),
    "bank table": (bank_table, bank_files.CannotRead),
    "bank file": (lambda text: bank_files.minor(text, digits=2), bank_files.CannotRead),
    "import_bank --closing": (closing_of_a_command, ValueError),
    "policy": (lambda text: policies.read("large_gift_minor", text), policies.AnswerImpossible),
    "amount": (AmountField("x").clean, ValidationError),
    "price": (PriceField("x").clean, ValidationError),
    "quantity": (QuantityField("x").clean, ValidationError),
    "shared cost": (lambda text: shared_costs._number(text, "rooms"), ValidationError),
    "pack": (
        lambda text: supplies.PacksForm.clean_packs(SimpleNamespace(cleaned_data={"packs": f"box {text}"})),
        ValidationError,
    ),
    "what comes on top": (
        lambda text: staff.MinutesForm._extra(SimpleNamespace(_grades={"vet": 1}), f"plate: {text} vet"),
        ValidationError,
    ),
    "kit": (lambda text: prices.KitForm._supply(SimpleNamespace(), [text, "ml", "saline"]), ValidationError),
}


@pytest.mark.django_db  # the house's decimals are asked once
@pytest.mark.parametrize("reader", READERS)
def test_every_reader_of_amounts_refuses_it_in_one_sentence(reader):
    read, refusal = READERS[reader]
    for text in ABSURD:
        with pytest.raises(refusal) as refused:
            read(text)
        told = refused.value.messages if refusal is ValidationError else [str(refused.value)]
        assert all("for integer string" not in one and 10 < len(one) < 200 for one in told)


@pytest.mark.parametrize("cell", ABSURD)
def test_a_table_keeps_such_a_cell_as_its_words(cell):
    table = tables.read(f'Date,Amount\n2026-10-01,"{cell}"\n'.encode())

    assert table.rows[0].cells == ("2026-10-01", cell)


@pytest.mark.django_db
@pytest.mark.parametrize("made", [camt, lambda moved: ofx(moved, closing=5)], ids=["camt", "ofx"])
def test_a_banks_own_file_with_such_an_amount_is_refused(made):
    from ledger.queries import bank_files as queries

    make.books()
    content = made([(make.oct(2), 1_23, "x", "y")]).replace(b"1.23", b"9" * 5_000)
    with pytest.raises(queries.BankFileUnread, match="is no amount of a"):
        queries.read(content)


@pytest.mark.django_db
def test_no_address_and_no_hidden_field_stumbles_over_it(client):
    make.books()
    House.objects.create(pk=1, name="Larkweir Veterinary Practice", opening_on=make.oct(1), time_zone="UTC")
    user = User.objects.create(sign_in="greta", name="Greta", initials="GL")
    user.roles_held.create(role=Role.BOOKKEEPER.value)
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")

    for text in ABSURD:
        assert client.get(reverse("ledger:donor_twins"), {"donor": text, "name": "x"}).status_code == 200
        assert client.get(reverse("clinic:find"), {"q": text}).status_code == 200
        assert client.post(reverse("ledger:bank"), {"confirm": f"{text}:ab12"}).status_code in (200, 303, 422)
