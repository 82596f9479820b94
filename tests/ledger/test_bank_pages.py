"""The bank's pages: from the file to both sides agreeing, and what each refusal says where."""

import io
import uuid

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from clinic.models import User
from config.roles import Role
from ledger.audit import audit
from ledger.models import BankFile, BankLine, BankMatch, BankReconciliation, BankRule
from tests.ledger import make
from tests.ledger.bank import camt, table
from tests.ledger.make import oct
from tests.ledger.test_gift_files import BACKEND

pytestmark = pytest.mark.django_db
MOVED = [(oct(2), 25_00, "Magda Illesz", "gift"), (oct(5), -4_00, "", "account fee")]


@pytest.fixture
def bookkeeper(client, settings, tmp_path):
    settings.AS_OF, settings.MEDIA_ROOT = "2026-10-31", tmp_path
    make.books()
    make.opened(make.general(), 1_000_00)
    user = User.objects.create(sign_in="greta", name="Greta", initials="GL")
    user.roles_held.create(role=Role.BOOKKEEPER.value)
    client.force_login(user, BACKEND)
    return client


def bring(client, content, name="october.xml", **said):
    upload = SimpleUploadedFile(name, content)
    return client.post(reverse("ledger:bank_files"), {"key": uuid.uuid4().hex, "file": upload, **said})


def shown(client, name, *args, **query) -> str:
    answer = client.get(reverse(f"ledger:{name}", args=args), query)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_from_the_file_to_both_sides_agreeing(bookkeeper):
    make.gift(make.general(), 25_00, oct(1))
    assert "No statement of the bank has come yet." in shown(bookkeeper, "bank")
    assert bring(bookkeeper, camt(MOVED, opening=1_000_00)).status_code == 303
    file = BankFile.objects.get()
    assert "2 lines are new." in shown(bookkeeper, "bank_file", file.id)
    assert not BankLine.objects.exists()
    bookkeeper.post(reverse("ledger:bank_file_take_in", args=[file.id]), {"sure": "yes"})
    gift, fee = BankLine.objects.order_by("on")

    waiting = shown(bookkeeper, "bank")
    assert "Nothing stands yet for 2 lines of the bank." in waiting
    assert "has the same amount." in waiting and "Left over" in waiting
    token = waiting.split(f'value="{gift.id}:')[1].split('"')[0]
    moved = bookkeeper.post(reverse("ledger:bank"), {"sure": "yes", "confirm": f"{gift.id}:other"})
    assert moved.status_code == 422 and "have moved since the list was shown" in moved.content.decode()
    empty = bookkeeper.post(reverse("ledger:bank"), {"sure": "yes"})
    assert empty.status_code == 422 and "No line was chosen" in empty.content.decode()
    assert bookkeeper.post(reverse("ledger:bank"), {"sure": "yes", "confirm": f"{gift.id}:{token}"}).status_code == 303

    said = {"key": uuid.uuid4().hex, "what": "management", "words": "account fee", "remember": "account fee"}
    wrong = bookkeeper.post(reverse("ledger:bank_line", args=[fee.id]), said)
    assert wrong.status_code == 422 and "Choose the fund." in wrong.content.decode()
    said["fund_id"] = make.general().id
    assert bookkeeper.post(reverse("ledger:bank_line", args=[fee.id]), said).status_code == 303
    assert "Something stands for every line of the bank." in shown(bookkeeper, "bank")
    assert "“account fee”" in shown(bookkeeper, "bank")

    both = shown(bookkeeper, "bank_reconciled")
    assert "They agree on October 5, 2026." in both and "1,021.00" in both
    key = uuid.uuid4().hex
    signed = {"key": key, "bank_minor": 1_021_00, "books_minor": 1_021_00}
    address = f"{reverse('ledger:bank_reconciled')}?on=2026-10-05"
    refused = bookkeeper.post(address, {**signed, "books_minor": 5})
    assert refused.status_code == 422 and "The figures have moved" in refused.content.decode()
    assert bookkeeper.post(address, signed).status_code == 303
    assert "Signed as reconciled to October 5, 2026 by Greta" in shown(bookkeeper, "bank_reconciled", on="2026-10-05")
    paper = bookkeeper.get(reverse("ledger:bank_paper"), {"on": "2026-10-05"})
    printed = " ".join(leaf.extract_text() for leaf in pypdf.PdfReader(io.BytesIO(paper.content)).pages)
    assert "Signed as reconciled by Greta" in " ".join(printed.split())

    held = bookkeeper.post(reverse("ledger:bank_undo", args=[fee.id]), {"sure": "yes"})
    assert held.status_code == 422 and "Take that back first." in held.content.decode()
    bookkeeper.post(reverse("ledger:bank_take_back"), {"sure": "yes"})
    assert bookkeeper.post(reverse("ledger:bank_undo", args=[fee.id]), {"sure": "yes"}).status_code == 303
    bookkeeper.post(reverse("ledger:bank_rule_end", args=[BankRule.objects.get().id]), {"sure": "yes"})

    picked = {"key": uuid.uuid4().hex, "pick": "yes"}
    nothing = bookkeeper.post(reverse("ledger:bank_line", args=[fee.id]), picked)
    assert nothing.status_code == 422 and "Tick the entries" in nothing.content.decode()
    entry = BankMatch.objects.get(way="spending").entries.get().entry_id
    assert bookkeeper.post(reverse("ledger:bank_line", args=[fee.id]), {**picked, "entry": entry}).status_code == 303
    assert "nothing yet" not in shown(bookkeeper, "bank_account", fee.account_id)
    assert BankReconciliation.objects.get().undone_by and BankRule.objects.get().ended_by
    assert audit().findings == ()


def test_a_table_is_read_as_its_columns_were_said(bookkeeper):
    content = b"Account: LARK 0007\n\n" + table(MOVED, opening=1_000_00).replace(b"Amount", b"Sum")
    unnamed = bring(bookkeeper, content, "october.csv")
    assert unnamed.status_code == 422 and "name the account" in unnamed.content.decode()
    bring(bookkeeper, content, "october.csv", account="Checking")
    file = BankFile.objects.get()
    first = shown(bookkeeper, "bank_file", file.id)
    assert "Say which column holds the day" in first
    assert "The heads of the columns are taken from line 3; above it 1 line stands: “Account: LARK 0007”." in first

    columns = {"column_on": "Date", "column_amount": "Sum", "column_balance": "Balance", "column_who": "Name"}
    bookkeeper.post(reverse("ledger:bank_file", args=[file.id]), columns)
    said = shown(bookkeeper, "bank_file", file.id)
    assert "2 lines are new." in said and "separated by comma, a decimal point. 2 rows under 5 heads." in said
    bookkeeper.post(reverse("ledger:bank_file_take_in", args=[file.id]), {"sure": "yes"})
    again = table([(oct(9), 5_00, "Somebody", "")], opening=1_021_00).replace(b"Amount", b"Sum")
    bring(bookkeeper, again, "november.csv", account="Checking")

    assert "1 line is new." in shown(bookkeeper, "bank_file", BankFile.objects.latest("id").id)


def test_a_file_that_does_not_foot_is_told_at_its_field(bookkeeper):
    answer = bring(bookkeeper, camt(MOVED, opening=1_000_00, closing=5))

    assert answer.status_code == 422 and "does not foot" in answer.content.decode()
    assert not BankFile.objects.exists()
