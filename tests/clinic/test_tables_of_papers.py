"""Papers and lists as files: every sheet sums, and whoever opens one finds the same figures."""

import csv
import io
import shutil
import subprocess
import uuid
from datetime import date
from decimal import Decimal

import openpyxl
import pytest
from django.urls import reverse

from config.roles import Role
from ledger.actions import donors
from tests.clinic import make
from tests.clinic.make import DAY

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
OCTOBER = {"from_on": "2026-10-01", "to_on": "2026-10-31"}
OFFICE = shutil.which("soffice") or shutil.which("libreoffice")
EVERY_SHEET = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
KINDS = ("board", "fund", "partner", "contact", "ward", "unpaid")
SEVERAL = KINDS[:5]


@pytest.fixture
def clinic(settings):
    """Bracken's boarding of 24.00 and dressing of 12.00: a named gift pays 30.00, the agreement 2.40, nobody 3.60."""
    settings.AS_OF = "2026-10-31"
    clinic = make.open_clinic()
    animal = clinic.admit(on=DAY, partner_number="=BY-17").animal
    donor = donors.add(key=uuid.uuid4(), name="Imke Sandoval", on=date(2026, 10, 1), by=clinic.bookkeeper.pk)
    clinic.leg = make.fund(clinic, "animal", "Bracken's leg", subject_key=animal.key)
    clinic.gift(clinic.leg, 3000, donor_id=donor.pk)
    clinic.give(animal, clinic.dressing)
    clinic.sign()
    return clinic


def taken(client, clinic, which: str, kind: str) -> bytes:
    address, words, person = {
        "board": ("board_report_file", {}, clinic.reader),
        "fund": ("grant_report_file", {"fund_id": clinic.leg.pk}, clinic.reader),
        "partner": ("partner_tables", {"partner_id": clinic.partner.pk}, clinic.reader),
        "contact": ("your_tables", {"on": DAY}, clinic.contact),
        "ward": ("ward_tables", {}, clinic.nurse),
        "unpaid": ("unpaid_file", {}, clinic.reader),
    }[which]
    client.force_login(person, BACKEND)
    answer = client.get(reverse(f"clinic:{address}", kwargs={**words, "kind": kind}), OCTOBER)
    assert answer.status_code == 200
    assert answer["Content-Disposition"].endswith(f'.{kind}"')
    return answer.content


def book_of(client, clinic, which: str) -> dict[str, list[list[object]]]:
    book = openpyxl.load_workbook(io.BytesIO(taken(client, clinic, which, "xlsx")))
    assert {sheet.freeze_panes for sheet in book} == {"A2"}
    return {sheet.title: [[cell.value for cell in row] for row in sheet] for sheet in book}


@pytest.mark.parametrize("which", KINDS)
def test_a_row_together_sums_the_rows_above_it(client, clinic, which):
    """In every sheet that has one, for every column of figures but a mean."""
    summed = 0
    for title, (heads, *rows) in book_of(client, clinic, which).items():
        if not rows or rows[-1][0] not in ("Together", "All funds"):
            continue
        for place, head in enumerate(heads):
            figures = [row[place] for row in rows if isinstance(row[place], (int, float))]
            if isinstance(rows[-1][place], (int, float)) and not head.startswith("Cost per"):
                assert sum(Decimal(str(one)) for one in figures[:-1]) == Decimal(str(figures[-1])), (title, head)
                summed += 1
    assert summed >= (2 if which == "unpaid" else 4)


def test_the_files_say_what_the_papers_say(client, clinic):
    board, fund, partner = (book_of(client, clinic, which) for which in KINDS[:3])

    assert board["Care nobody has paid"][1:] == [["Brindle Yard Rescue", 1, 3.6], ["Together", 1, 3.6]]
    assert board["Funds"][-1][-1] == 0
    assert fund["The fund’s account"][-1] == ["Closing balance", 0]
    assert fund["Whom it helped"][1][0::4] == ["Bracken", 30]
    assert partner["Animals"][1] == ["Bracken", "=BY-17", "in care", 1, 68, 32, 36, 2.4, 30, 3.6]
    assert ["Asked of you", 2.4] in partner["Asked and owed"]
    assert "Sandoval" not in str((board, fund, partner))


@pytest.mark.parametrize("which", SEVERAL)
def test_the_comma_separated_file_holds_every_figure_of_the_workbook(client, clinic, which):
    heads, *rows = csv.reader(io.StringIO(taken(client, clinic, which, "csv").decode("utf-8-sig")))
    book = book_of(client, clinic, which)

    assert heads == ["Table", "Line", "What", "Value"]
    figures = [
        (title, head, cell) for title, (names, *lines) in book.items() for line in lines
        for head, cell in zip(names[1:], line[1:], strict=True)
    ]  # fmt: skip
    assert [(title, head) for title, _, head, _ in rows] == [(title, head) for title, head, _ in figures]
    for (*_, word), (*_, cell) in zip(rows, figures, strict=True):
        if isinstance(cell, (int, float)):
            assert Decimal(word) == Decimal(str(cell))
    if which == "partner":
        assert ["Animals", "Bracken", "Your number", "'=BY-17"] in rows


@pytest.mark.skipif(OFFICE is None, reason="LibreOffice is not on this machine")
def test_libreoffice_reads_the_same_totals_in_every_sheet(client, clinic, tmp_path):
    kept = tmp_path / "board.xlsx"
    kept.write_bytes(taken(client, clinic, "board", "xlsx"))
    words = [OFFICE, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", EVERY_SHEET]
    subprocess.run([*words, "--outdir", str(tmp_path), str(kept)], check=True, capture_output=True, timeout=120)

    for title, rows in book_of(client, clinic, "board").items():
        with (tmp_path / f"board-{title}.csv").open(newline="") as file:
            read = list(csv.reader(file))
        assert [row[0] for row in read] == [str(row[0]) for row in rows]
        for mine, theirs in zip(rows[1:], read[1:], strict=True):
            for cell, word in zip(mine, theirs, strict=True):
                if isinstance(cell, (int, float)):
                    assert Decimal(word.replace(",", "")) == Decimal(str(cell)), (title, mine[0])


def test_the_file_of_a_month_is_the_contacts_own(client, clinic):
    client.force_login(make.person("Uma Nobody", Role.PARTNER, partner=None), BACKEND)

    assert client.get(reverse("clinic:your_tables", kwargs={"on": DAY, "kind": "csv"})).status_code == 404
