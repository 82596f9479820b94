"""Gifts from files: read by one decided rule, shown row by row, recorded once, and never half."""

import io
import uuid
from datetime import date

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse

from clinic.models import House, User
from config import tables
from config.roles import Role
from ledger.audit import audit
from ledger.forms.gift_files import ASKED
from ledger.formulas import typed_cells
from ledger.models import Donor, Gift, GiftFile, GiftSource
from tests.ledger import gift_lists, make
from tests.ledger.gift_lists import record, seen, written
from tests.ledger.make import oct

BACKEND = "django.contrib.auth.backends.ModelBackend"
HEADS = ["Gift date", "Donor", "E-mail", "Gross amount", "Fee", "Net amount", "Reference", "Comment", "Type"]
ROWS = [
    ["2026-10-02", "Orsolya Penhallow", "orsolya@example.org", "1,040.00", "30.46", "1,009.54", "G-1", "", "gift"],
    ["2026-10-02", "Magda Illesz", "", "15.00", "0.74", "14.26", "G-2", "for the wound fund", "gift"],
    ["2026-10-03", "Somebody New", "new@example.org", "25.00", "1.03", "23.97", "G-3", "WOUND FUND please", "gift"],
    ["2026-10-03", "Somebody New", "new@example.org", "5.00", "0.45", "4.55", "G-4", "", "gift"],
    ["2026-10-04", "", "", "7.00", "0.50", "6.50", "G-5", "", "gift"],
    ["2026-10-05", "Magda Illesz", "", "15.00", "0.74", "14.26", "G-6", "", "Refund"],
    ["2026-13-05", "NA", "", "15.00", "0.74", "14.26", "G-7", "", "gift"],
    ["2026-10-06", "Wrong Net", "", "10.00", "1.00", "8.00", "G-8", "", "gift"],
]
pytestmark = pytest.mark.django_db


CONTENT = written(HEADS, ROWS)


@pytest.fixture
def books(settings, tmp_path):
    return gift_lists.books(settings, tmp_path)


def brought(books, content=CONTENT) -> GiftFile:
    return gift_lists.brought(books, content)


def test_each_row_finds_its_donor_and_its_fund_or_says_why_not(books):
    found = seen(brought(books))

    assert [(one.donor_name, one.match, one.fund_name, one.row.gross_minor) for one in found.rows] == [
        ("Orsolya Penhallow", "by e-mail", "General", 1_040_00),
        ("Magda Illesz", "by name alone", "Wound fund", 15_00),
        ("Somebody New", "new", "Wound fund", 25_00),
        ("Somebody New", "new", "General", 5_00),
        ("", "nobody is named", "General", 7_00),
    ]
    assert [(one.line, one.sentence) for one in found.wrong] == [
        (7, "It says that the gift G-6 went back, and no gift from here has this reference."),
        (8, '"2026-13-05" is no day of the calendar.'),
        (9, "Gross less fee is not the net amount that stands there, 8.00."),
    ]
    assert (found.gross_minor, found.fee_minor, found.new_donors) == (1_092_00, 33_18, 1)
    assert not Gift.objects.exists()


def test_recorded_once_and_brought_again_it_adds_nothing(books):
    file = brought(books)
    record(file)
    again = seen(brought(books))

    assert (again.new, again.known, len(again.wrong)) == ((), 5, 3)
    assert (Gift.objects.count(), GiftFile.objects.count(), GiftSource.objects.count()) == (5, 1, 1)
    assert Donor.objects.filter(name="Somebody New").count() == 1
    assert sum(gift.fee_minor for gift in Gift.objects.all()) == 33_18
    assert audit().findings == ()


def test_cut_off_after_any_batch_and_begun_again_it_is_as_one_clean_run(books):
    """The first rows of a run that was killed are there; the run after it adds the rest."""
    file = brought(books)
    record(file, seen(file).new[:2])

    record(file)

    assert Gift.objects.count() == 5
    assert Gift.objects.values_list("entry__key").distinct().count() == 5


def test_the_other_figures_of_a_reference_are_no_new_gift(books):
    record(brought(books))
    changed = [
        [*ROWS[0][:3], "1,041.00", "30.46", "1,010.54", *ROWS[0][6:]],
        ROWS[1],
        [*ROWS[2][:6], "G-2", "", "gift"],
    ]

    found = seen(brought(books, written(HEADS, changed)))

    assert [one.sentence for one in found.wrong] == [
        "The books have it under this reference with other figures.",
        "Its reference stands more than once in this file.",
        "Its reference stands more than once in this file.",
    ]


def test_a_closed_period_and_a_day_to_come_are_named_and_never_moved(books):
    make.closed(oct(10), today=oct(31))
    rows = [ROWS[0], ["2026-11-02", *ROWS[1][1:]]]

    found = seen(brought(books, written(HEADS, rows)))

    assert [one.sentence for one in found.wrong] == [
        "Its day lies in a period that is closed through October 10, 2026.",
        "Its day has not come yet.",
    ]


@pytest.mark.parametrize(
    ("amounts", "days", "sentence"),
    [
        (["1,000"], ["2026-10-14"], "may be a thousand"),
        (["1,50", "2.50"], ["2026-10-14"], "Choose the decimal mark."),
        (["1"], ["04.05.2026"], "may have the day or the month first"),
        (["1"], ["31.12.2026", "12/31/2026"], "Choose the order."),
    ],
)
def test_nobody_guesses_where_both_readings_fit(amounts, days, sentence):
    with pytest.raises(typed_cells.Unclear, match=sentence):
        typed_cells.decided(amounts=amounts, days=days)


def test_a_workbook_says_what_its_list_says_and_a_formula_is_refused():
    book = openpyxl.Workbook()
    sheet = book.active
    for row in ([HEADS[0], "Donor", "Amount"], [date(2026, 10, 2), "NA", 12.5], [date(2026, 10, 3), "0017", 3]):
        sheet.append(row)
    kept = io.BytesIO()
    book.save(kept)

    found = tables.read(kept.getvalue())
    sheet["C2"] = "=6+6.5"
    computing = io.BytesIO()
    book.save(computing)

    assert [row.cells for row in found.rows] == [("2026-10-02", "NA", "12.5"), ("2026-10-03", "0017", "3")]
    with pytest.raises(tables.FormulaInTable, match="Line 2"):
        tables.read(computing.getvalue())


@pytest.mark.parametrize(
    ("content", "refusal"),
    [
        (b"", tables.TableEmpty),
        (b"Date,Amount\r\n", tables.TableEmpty),
        (b"\x89PNG\r\n\x1a\n\0\0\0", tables.TableUnknown),
        (b"PK\x03\x04 no workbook", tables.TableBroken),
        (b'Date,Amount\r\n"2026-10-01,5\r\n', tables.TableBroken),
    ],
)
def test_what_is_no_table_is_refused_in_a_sentence(content, refusal):
    with pytest.raises(refusal, match="Nothing was read"):
        tables.read(content)


class TestPages:
    @pytest.fixture
    def bookkeeper(self, client, books):
        user = User.objects.create(sign_in="greta", name="Greta", initials="GL")
        user.roles_held.create(role=Role.BOOKKEEPER.value)
        client.force_login(user, BACKEND)
        return client

    def test_from_the_file_to_the_funds(self, bookkeeper, books):
        upload = SimpleUploadedFile("october.csv", CONTENT, "text/csv")
        said = {"key": uuid.uuid4().hex, "source": "The giving site", "file": upload}
        first = bookkeeper.post(reverse("ledger:gift_files"), said)
        file = GiftFile.objects.get()
        unread = bookkeeper.get(first["Location"]).content.decode()
        columns = {f"column_{meaning}": "" for meaning, _ in ASKED}
        heads = {"on": 0, "name": 1, "email": 2, "gross": 3, "fee": 4, "net": 5, "reference": 6, "words": 7, "kind": 8}
        columns |= {f"column_{meaning}": HEADS[place] for meaning, place in heads.items()}
        form = {"way": "giving_site", "fund_id": make.general().id, "rules": "wound fund > Wound fund", **columns}
        wrong = bookkeeper.post(first["Location"], {**form, "rules": "wound fund > Nowhere"})
        assert bookkeeper.post(first["Location"], form).status_code == 303
        shown = bookkeeper.get(first["Location"]).content.decode()
        refused = bookkeeper.post(reverse("ledger:gift_file_record", args=[file.id]))
        before = Gift.objects.count()
        bookkeeper.post(reverse("ledger:gift_file_record", args=[file.id]), {"keep-good": "yes"})

        assert "Say which column holds what" in unread
        assert wrong.status_code == 422 and "names no open fund" in wrong.content.decode()
        assert "5 gifts are new: 1,092.00, less 33.18 of fees, 1,058.82" in shown
        assert "Record the 5 that stand, let 3 wait" in shown
        assert (refused.status_code, before, Gift.objects.count()) == (303, 0, 5)
        assert make.by_name()["Wound fund"] == 40_00 - 1_77
        assert "It is recorded: 5 rows are in the books" in bookkeeper.get(first["Location"]).content.decode()

    def test_a_file_that_cannot_be_read_is_told_at_its_field(self, bookkeeper):
        upload = SimpleUploadedFile("photo.png", b"\x89PNG\r\n\x1a\n\0\0\0", "image/png")
        said = {"key": uuid.uuid4().hex, "source": "The giving site", "file": upload}

        answer = bookkeeper.post(reverse("ledger:gift_files"), said)

        assert answer.status_code == 422
        assert "neither a comma-separated file nor an XLSX workbook" in answer.content.decode()
        assert not GiftSource.objects.exists()


@pytest.mark.django_db(transaction=True)
class TestCommand:
    def run(self, tmp_path, *more) -> str:
        path, told = tmp_path / "october.csv", io.StringIO()
        path.write_bytes(CONTENT)
        call_command("import_gifts", path, "--source", "The giving site", "--by", "greta", *more, stdout=told)
        return told.getvalue()

    @pytest.fixture
    def house(self, books):
        House.objects.create(pk=1, name="Larkweir Veterinary Practice", opening_on=oct(1), time_zone="UTC")
        User.objects.create(sign_in="greta", name="Greta", initials="GL")

    def test_it_records_what_stands_and_nothing_twice(self, house, books, tmp_path):
        brought(books)

        with pytest.raises(CommandError, match="3 of its rows cannot stand, so nothing was recorded"):
            self.run(tmp_path)
        assert self.run(tmp_path, "--keep-good") == "5 recorded, 0 in the books already, 3 wait.\n"
        assert self.run(tmp_path, "--keep-good") == "0 recorded, 5 in the books already, 3 wait.\n"

    def test_a_source_whose_columns_nobody_said_is_refused(self, house, tmp_path):
        with pytest.raises(CommandError, match="Say which column holds what"):
            self.run(tmp_path)
        assert not Gift.objects.exists()
