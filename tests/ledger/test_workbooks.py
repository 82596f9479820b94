"""Every report as a workbook: the figures of its comma-separated file, typed, and what LibreOffice makes of it."""

import csv
import io
import re
import shutil
import subprocess
from datetime import date
from decimal import Decimal

import openpyxl
import pytest
from django.urls import reverse

from clinic.models import User
from config.roles import Role
from tests.ledger import make
from tests.ledger.make import oct

OCTOBER = {"from_on": "2026-10-01", "to_on": "2026-10-31"}
REPORTS = ("roll-forward", "trial-balance", "activity", "journal", "related-party", "functional-expenses")
OFFICE = shutil.which("soffice") or shutil.which("libreoffice")


@pytest.fixture
def reader(client, posted, settings):
    settings.AS_OF = "2026-10-31"
    user = User.objects.create(sign_in="tove", name="Tove", initials="TV")
    user.roles_held.create(role=Role.READER.value)
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    return client


def taken(client, report: str, kind: str) -> bytes:
    answer = client.get(reverse("ledger:report_file", args=[report, kind]), OCTOBER)
    assert answer.status_code == 200
    assert answer["Content-Disposition"].endswith(f'.{kind}"')
    return answer.content


def rows_of(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"))))


def written(cell: object) -> str:
    return f"{cell:%Y-%m-%d}" if isinstance(cell, date) else str(cell or "")


@pytest.mark.parametrize("report", REPORTS)
def test_the_workbook_holds_what_the_file_holds(reader, report):
    book = openpyxl.load_workbook(io.BytesIO(taken(reader, report, "xlsx")))
    sheet, (heads, *rows) = book.active, rows_of(taken(reader, report, "csv"))

    assert (len(book.sheetnames), sheet.freeze_panes) == (1, "A2")
    assert [cell.value for cell in sheet[1]] == heads
    found = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)]
    assert len(found) == len(rows)
    for mine, theirs in zip(found, rows, strict=True):
        for cell, word in zip(mine, theirs, strict=True):
            if isinstance(cell, (int, float)):
                assert Decimal(str(cell)) == Decimal(word)
            else:
                assert written(cell) == word


def test_amounts_are_numbers_and_words_that_begin_like_a_formula_are_text(reader):
    make.gift(make.general(), 5_00, oct(21), "formula", words="=HYPERLINK(1)")

    sheet = openpyxl.load_workbook(io.BytesIO(taken(reader, "journal", "xlsx"))).active
    cells = {cell.value: cell for row in sheet.iter_rows() for cell in row}

    assert cells["=HYPERLINK(1)"].data_type == "s"
    assert {(cell.data_type, cell.number_format) for cell in list(sheet.columns)[-1][1:]} == {("n", "#,##0.00")}


@pytest.mark.skipif(OFFICE is None, reason="LibreOffice is not on this machine")
@pytest.mark.parametrize("report", REPORTS)
def test_libreoffice_opens_it_and_finds_the_same_totals(reader, report, tmp_path):
    """Every column of amounts summed by what LibreOffice read, against the comma-separated file."""
    kept = tmp_path / f"{report}.xlsx"
    kept.write_bytes(taken(reader, report, "xlsx"))
    words = [OFFICE, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "csv"]
    subprocess.run([*words, "--outdir", str(tmp_path), str(kept)], check=True, capture_output=True, timeout=120)

    read = list(csv.reader(io.StringIO((tmp_path / f"{report}.csv").read_text())))

    truth = rows_of(taken(reader, report, "csv"))
    amounts = [place for place in range(len(truth[0])) if is_amounts([row[place] for row in truth[1:]])]
    assert amounts and len(read) == len(truth)
    for place in amounts:
        assert total(read, place) == total(truth, place), truth[0][place]


def is_amounts(cells: list[str]) -> bool:
    return any(cells) and all(re.fullmatch(r"-?[0-9]+[.][0-9]{2}", cell) for cell in cells if cell)


def total(rows: list[list[str]], place: int) -> Decimal:
    return sum((Decimal(row[place].replace(",", "")) for row in rows[1:] if row[place]), Decimal(0))
