"""Whatever bytes come as a gift file: read exactly, or refused in one sentence; never half, never beyond the memory."""

import io
import os
import resource
import subprocess
import sys
import zipfile

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from config import tables
from ledger.formulas import gift_files as formulas
from ledger.formulas import typed_cells
from ledger.queries import gift_files as queries
from tests.conftest import SOAK
from tests.crash.test_killed import ROOT
from tests.ledger.gift_lists import written
from tests.ledger.mutations import mutated

GIB = 2**30
HEADS = ["Date", "Donor", "Amount", "Fee", "Net", "Reference", "Refund of", "Fund", "Comment", "Type", "Frequency"]
ROWS = [
    ["2026-10-02", "Orsolya Penhallow", "1,040.00", "30.46", "1,009.54", "G-1", "", "", "", "gift", "monthly"],
    ["2026-10-02", "NA", "15.00", "0.74", "14.26", "00017", "", "Wound fund", "=1+1", "gift", "once"],
    ["2026-10-03", "Zoë Ångström", "1'234.50", "", "", "0017", "", "", "-0", "gift", ""],
    ["2026-10-05", "NULL", "-15.00", "0.20", "-15.20", "R-1", "00017", "", "@you", "Chargeback", ""],
    ["2026-13-05", "", "(12.00)", "", "", "nan", "", "", "\ttabbed", "", ""],
]
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "cp1252")
KINDS = ("list", "list", "list", "workbook")


def workbook(rows) -> bytes:
    book, kept = openpyxl.Workbook(write_only=True), io.BytesIO()
    sheet = book.create_sheet()
    for row in (HEADS, *rows):
        cells = [openpyxl.cell.WriteOnlyCell(sheet, value=cell) for cell in row]
        for cell in cells:
            cell.data_type = "s"
        sheet.append(cells)
    book.save(kept)
    return kept.getvalue()


BOOK = workbook(ROWS)


@pytest.mark.random
@given(st.data())
@settings(max_examples=10_000 if SOAK else 1_000, deadline=None)
def test_a_mutated_file_is_read_whole_or_refused_in_one_sentence(data):
    """Bytes cut, put in and turned, encodings, marks and separators: a table or a refusal, a row or a sentence."""
    if data.draw(st.sampled_from(KINDS)) == "workbook":
        whole = BOOK
    else:
        text = written(HEADS, ROWS, data.draw(st.sampled_from(",;\t"))).decode("utf-8-sig")
        text = data.draw(st.sampled_from(("", "", "The giving site\n\nGifts from 2026-10-01, to 2026-10-31\n"))) + text
        whole = text.encode(data.draw(st.sampled_from(ENCODINGS)))
    content = mutated(whole, data)
    try:
        table = tables.read(content, queries.knowing(None))
    except tables.TableRefused as refused:
        assert content != whole and "Nothing was read" in str(refused)
        return
    if content == whole:
        assert [list(row.cells) for row in table.rows] == [[cell.strip() for cell in row] for row in ROWS]
    assert all(len(row.cells) == len(table.heads) for row in table.rows)
    columns = formulas.guessed(table.heads)
    if {"on", "gross"} - columns.keys():
        return
    reading = typed_cells.Reading(decimal=data.draw(st.sampled_from(".,")), day_first=data.draw(st.booleans()))
    for row in table.rows:
        try:
            found = formulas.gift_row(line=row.line, cells=row.cells, columns=columns, reading=reading, digits=2)
        except typed_cells.CannotStand as cannot:
            assert str(cannot)
        else:
            assert found.gross_minor > 0
            assert found.back or 0 <= found.fee_minor <= found.gross_minor


CELLS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=12)


@pytest.mark.random
@given(st.lists(st.lists(CELLS, min_size=2, max_size=2), min_size=1, max_size=4), st.sampled_from(",;\t|"))
@settings(max_examples=1_000 if SOAK else 100, deadline=None)
def test_what_people_write_is_read_as_they_wrote_it(cells, separator):
    """Whatever stands in a cell, leading zeros, "NA" and signs of equality among it, comes back without its blanks."""
    rows = [["2026-10-01", *row, "x"] for row in cells]
    table = tables.read(written(["Date", "Donor", "Comment", "End"], rows, separator))

    assert [list(row.cells) for row in table.rows] == [[cell.strip() for cell in row] for row in rows]


def test_the_columns_of_a_list_are_found_by_their_heads():
    assert formulas.guessed(HEADS) == {
        "on": 0, "name": 1, "gross": 2, "fee": 3, "net": 4, "reference": 5, "original": 6, "fund": 7, "words": 8,
        "kind": 9, "often": 10,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "sentence"),
    [
        ("9" * 5_000, "more than any amount here can be"),
        ("99999999999999", "more than any gift here can be"),
        ("1,00,0.00", "no amount with a decimal point"),
        ("0.00", "It gives nothing."),
        ("1e5", "no amount"),
    ],
)
def test_an_amount_beyond_reason_is_refused(cell, sentence):
    reading = typed_cells.Reading(decimal=".", day_first=None)
    with pytest.raises(typed_cells.CannotStand, match=sentence):
        formulas.gift_row(line=2, cells=["2026-10-01", cell], columns={"on": 0, "gross": 1}, reading=reading, digits=2)


def packed(parts: dict[str, bytes]) -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as out:
        for name, content in parts.items():
            out.writestr(name, content)
    return kept.getvalue()


def parts_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        return {name: book.read(name) for name in book.namelist()}


def zip_bomb() -> bytes:
    return packed(parts_of(BOOK) | {"xl/worksheets/sheet1.xml": b" " * (300 * 2**20)})


def entity_bomb() -> bytes:
    entities = b"".join(b'<!ENTITY e%d "%s">' % (n, b"&e%d;" % (n - 1) * 10) for n in range(1, 10))
    sheet = parts_of(BOOK)["xl/worksheets/sheet1.xml"]
    begins = b'<!DOCTYPE worksheet [<!ENTITY e0 "ha">' + entities + b"]>"
    named = sheet.replace(b"Orsolya Penhallow", b"&e9;")
    declaration, _, rest = named.rpartition(b"?>")
    return packed(parts_of(BOOK) | {"xl/worksheets/sheet1.xml": declaration + (_ or b"") + begins + rest})


def far_row() -> bytes:
    sheet = parts_of(BOOK)["xl/worksheets/sheet1.xml"]
    far = b'<row r="1048576"><c r="A1048576" t="inlineStr"><is><t>far</t></is></c></row></sheetData>'
    return packed(parts_of(BOOK) | {"xl/worksheets/sheet1.xml": sheet.replace(b"</sheetData>", far)})


BOMBS = {
    "zip bomb": zip_bomb,
    "entity bomb": entity_bomb,
    "a row far below": far_row,
    "a line of separators": lambda: b"Date,Amount\n" + b"," * (39 * 2**20),
    "blank lines": lambda: b"Date,Amount\n" + b"\n" * (39 * 2**20),
    "too many cells": lambda: b"Date,Amount\n" + b"12,34,56,78,90,12,34,56,78,90\n" * 1_300_000,
}
READ = """
import resource, sys
import django; django.setup()
from config import tables
content = sys.stdin.buffer.read()
try:
    tables.read(content)
    print("read")
except tables.TableRefused as refused:
    print(type(refused).__name__)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024)
"""


@pytest.mark.parametrize("name", BOMBS)
def test_what_would_fill_the_memory_is_refused_in_less_than_a_gib(name):
    done = subprocess.run(
        [sys.executable, "-c", READ],
        cwd=ROOT,
        env={**os.environ, "DJANGO_SETTINGS_MODULE": "config.settings"},
        input=BOMBS[name](),
        capture_output=True,
        timeout=300,
        check=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (3 * GIB, 3 * GIB)),  # noqa: PLW1509
    )
    refusal, memory = done.stdout.decode().split()

    assert refusal in ("TableTooLarge", "TableBroken")
    assert int(memory) < GIB
