"""The line of heads is found where others stand above it, told openly, and never guessed."""

import io

import openpyxl
import pytest

from config import tables

ABOVE = 'Account: LARK 0007\n\n"From 2026-10-01, to 2026-10-31"\nOpening balance;1.000,00\n'
BODY = "01.10.2026;Vane, Jo;-12,50;987,50\n02.10.2026;Weir Lab;;987,50\n31.10.2026;;5,00;992,50\n"
NAMED = (lambda cells: {"Date", "Amount"} <= set(cells),)


def read(text: str, knows=()) -> tables.Table:
    return tables.read(text.encode(), knows)


@pytest.mark.parametrize(
    ("heads", "knows"), [("Date;Name;Amount;Balance", NAMED), ("Tag;Wer;Betrag;Stand", ())], ids=["known", "unknown"]
)
def test_lines_above_the_heads_are_kept_apart_and_rows_keep_their_numbers(heads, knows):
    found = read(f"{ABOVE}{heads}\n{BODY}", knows)

    assert (found.heads, found.heads_line) == (tuple(heads.split(";")), 5)
    assert [(row.line, row.cells) for row in found.rows] == [
        (6, ("01.10.2026", "Vane, Jo", "-12,50", "987,50")),
        (7, ("02.10.2026", "Weir Lab", "", "987,50")),
        (8, ("31.10.2026", "", "5,00", "992,50")),
    ]
    assert [(row.line, row.cells) for row in found.above] == [
        (1, ("Account: LARK 0007",)),
        (3, ("From 2026-10-01, to 2026-10-31",)),
        (4, ("Opening balance", "1.000,00")),
    ]


def test_a_list_without_any_is_read_as_ever():
    """Also where a row has more cells than heads, or the first row no figure, or the heads are in no known words."""
    found = read("Tag,Wer,Wort\n,Vane,x\n2026-10-01,Weir,for the dogs, with love\n2026-10-02,Orsolya,\n")

    assert (found.heads, found.heads_line, found.above) == (("Tag", "Wer", "Wort"), 1, ())
    assert [row.cells[2] for row in found.rows] == ["x", "for the dogs with love", ""]


def test_heads_that_stand_again_on_a_further_leaf_are_those_of_the_first():
    found = read(f"Savings\nDate;Name;Amount\n1.1.2026;a;5\nDate;Name;Amount\n{BODY}", NAMED)

    assert (found.heads_line, [row.line for row in found.rows][:2]) == (2, [3, 4])


def test_a_workbook_is_read_the_same_way():
    book, kept = openpyxl.Workbook(), io.BytesIO()
    for row in (["Savings of the practice"], [], ["Date", "Amount"], ["2026-10-01", 5]):
        book.active.append(row)
    book.save(kept)

    found = tables.read(kept.getvalue(), NAMED)

    assert (found.heads_line, found.rows[0].line, [row.cells for row in found.above]) == (
        3, 4, [("Savings of the practice",)],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (f"{ABOVE}{BODY}", "No line is clearly the heads of the columns. Nothing was read. Leave one line of heads"),
        (f"Date;of;Amount\nDate;Name;Amount\n{BODY}", "Lines 1 and 2 may both be the heads"),
    ],
    ids=["none", "two"],
)
def test_where_it_is_not_clear_nothing_is_read(text, sentence):
    with pytest.raises(tables.HeadsUnknown, match=sentence):
        read(text, NAMED)


def test_heads_with_nothing_under_them_are_no_list():
    with pytest.raises(tables.TableEmpty):
        read("Savings\nDate;Amount\n", NAMED)
