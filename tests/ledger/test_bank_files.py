"""Bank files: footed, each line once, in the books' own money, read exactly or refused in one sentence."""

import io
import json
import os
import tracemalloc

import openpyxl
import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from clinic.models import House, User
from config import markup, tables
from config.refusal import Refusal
from ledger.actions import bank_files as actions
from ledger.audit import audit
from ledger.formulas import ofx as ofx_form
from ledger.formulas.bank_files import EARLIEST, LATEST, MOST_MINOR
from ledger.models import BankAccount, BankFile, BankLine, BankLineWords, BankStatement
from ledger.queries import bank, bank_files
from tests.ledger import make
from tests.ledger.bank import ACCOUNT, brought, camt, ofx, table, taken
from tests.ledger.make import oct
from tests.ledger.mutations import mutated

SOAK = bool(os.environ.get("SOAK"))
MOVED = [
    (oct(2), 240_00, "The giving site", "payout 117"),
    (oct(5), -61_50, "Paw Laboratory", "invoice 9"),
    (oct(5), 15_00, "Magda Illesz", "for the dogs"),
    (oct(9), -4_00, "", "account fee"),
]
OPENING, CLOSING = 1_000_00, 1_189_50
ABOVE = b"Account: LARK 0007\nFrom 2026-10-01, to 2026-10-31\n\nOpening balance;1000.00\n"


@pytest.fixture
def books(db, settings, tmp_path):
    settings.AS_OF, settings.MEDIA_ROOT = "2026-10-31", tmp_path
    make.books()


def sums() -> list[tuple[int, int, int, int]]:
    rows = BankStatement.objects.order_by("id")
    return list(rows.values_list("opening_minor", "known_minor", "moved_minor", "closing_minor"))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (camt(MOVED, opening=OPENING), {}),
        (ofx(MOVED, closing=CLOSING), {}),
        (table(MOVED, opening=OPENING), {"account": "Checking"}),
        (table(MOVED, opening=OPENING, downwards=False, separator=";"), {"account": "Checking"}),
        (table(MOVED, opening=None), {"account": "Checking", "closing_minor": CLOSING}),
        (ABOVE + table(MOVED, opening=OPENING, separator=";"), {"account": "Checking"}),
    ],
    ids=["camt", "ofx", "table", "table upwards", "table without balances", "table with lines above its heads"],
)
def test_each_form_says_the_same(books, content, told):
    taken(content, **told)

    assert sums() == [(OPENING, 0, 189_50, CLOSING)]
    assert sorted(BankLine.objects.values_list("on", "amount_minor")) == sorted((one[0], one[1]) for one in MOVED)
    assert BankLineWords.objects.get(line__amount_minor=240_00).who == "The giving site"
    assert bank.gaps() == [] and audit().findings == ()


@pytest.mark.parametrize("form", ["camt", "ofx", "table"])
def test_two_files_that_overlap_bring_each_line_once(books, form):
    """The first ends within a day, after one of two lines that say the same; the second has both."""
    moved = [*MOVED, (oct(9), -4_00, "", "account fee"), (oct(12), 7_00, "Somebody", "thanks")]

    def file(part, opening):
        if form == "ofx":
            return ofx(part, closing=opening + sum(one[1] for one in part))
        return camt(part, opening=opening) if form == "camt" else table(part, opening=opening)

    told = {"account": "Checking"} if form == "table" else {}
    taken(file(moved[:4], OPENING), **told)
    taken(file(moved, OPENING), **told)

    assert BankLine.objects.count() == 6
    assert sum(BankLine.objects.values_list("amount_minor", flat=True)) == sum(one[1] for one in moved)
    assert bank.gaps() == []


def test_a_missing_statement_is_named(books):
    taken(camt(MOVED[:1], opening=OPENING))
    taken(camt(MOVED[3:], opening=OPENING + 193_50))

    (gap,) = bank.gaps()

    assert gap.sentence == (
        "LARK 0007: by the statements before and the lines since, October 9, 2026 would close at 1,236.00 USD, and "
        "the bank says 1,189.50 USD. A statement between them is missing."
    )


@pytest.mark.parametrize(
    ("content", "told", "sentence"),
    [
        (camt(MOVED, opening=OPENING, closing=CLOSING + 1), {}, "does not foot: 1,000.00 USD"),
        (camt(MOVED, currency="EUR"), {}, "The statement is in EUR, and these books are in USD."),
        (
            camt(MOVED).replace(b'<Ntry><Amt Ccy="USD">', b'<Ntry><Amt Ccy="EUR">', 1),
            {},
            "several currencies: EUR, USD",
        ),
        (ofx(MOVED, closing=5).replace(b"<FITID>1-", b"<FITID>0-"), {}, None),
        (ofx(MOVED, closing=5).replace(b"<CURDEF>USD", b"<CURDEF>ZZZ"), {}, '"ZZZ" is no currency in use'),
        (ofx(MOVED, closing=5).replace(b"20261002", b"20261302"), {}, '"2026-13-02" is no date'),
        (ofx(MOVED, closing=5).replace(b"20261002", b"00010102"), {}, "no date of a statement"),
        (ofx(MOVED, closing=5).replace(b"240.00", b"9" * 17), {}, "more than any amount here can be"),
        (camt([(oct(31).replace(month=12), 1, "", "")]), {}, "booked on 2026-12-31, which has not come yet"),
        (camt(MOVED).replace(b"camt.053", b"camt.052"), {}, "Take out the statement, camt.053"),
        (table(MOVED), {}, "name the account"),
        (table(MOVED, opening=None), {"account": "Checking"}, "say what it was at the end of the statement"),
        (table(MOVED).replace(b"193.50", b"193.51"), {"account": "Checking"}, "Line 4 does not follow"),
        (table(MOVED).replace(b"193.50", b""), {"account": "Checking"}, "Line 4 has no balance after it"),
        (table(MOVED).replace(b"Amount", b"Sum"), {"account": "Checking"}, "Say which column holds the day"),
        (table(MOVED).replace(b"240.00", b"9" * 5000), {"account": "Checking"}, "Line 2: .* more than any amount"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence_and_nothing_is_half_there(books, content, told, sentence):
    if sentence is None:  # the words of two lines differ, so that one FITID names two transactions
        content = content.replace(b"0-invoice 9", b"0-payout 117")
        sentence = "Two different transactions have one FITID"
    with pytest.raises(Refusal, match=sentence):
        taken(content, **told)

    assert not BankStatement.objects.exists() and not BankLine.objects.exists()


def test_a_line_that_says_otherwise_later_is_refused(books):
    taken(ofx(MOVED, closing=CLOSING))
    changed = [(oct(2), 241_00, "The giving site", "payout 117"), *MOVED[1:]]

    with pytest.raises(Refusal, match="The line of 2026-10-02 over 240.00 USD was read before, and now says otherwise"):
        taken(ofx(changed, closing=CLOSING))
    assert BankLine.objects.count() == 4


def test_another_form_of_the_same_days_is_refused(books):
    taken(ofx(MOVED, closing=CLOSING))
    BankAccount.objects.update(name="Checking")

    with pytest.raises(Refusal, match="came in a file of another form before"):
        taken(table(MOVED, opening=OPENING), account="Checking")
    assert BankLine.objects.count() == 4


def test_columns_are_said_once_and_pending_lines_left_out(books):
    text = (
        "Posted;In;Out;What;State\n14.10.2026;1.040,00;;gift;booked\n"
        "15.10.2026;;12,5;fee;booked\n16.10.2026;5;;x;Pending\n"
    )
    file = brought(text.encode(), account="Savings", closing_minor=2_000_00)
    columns = {"on": "Posted", "paid_in": "In", "paid_out": "Out", "words": "What", "status": "State"}
    actions.say(account=file.account, columns=columns, decimal="", day_first=None)

    (found,) = bank_files.judged_file(file=file, today=oct(31))

    assert [line.line.amount_minor for line in found.lines] == [1_040_00, -12_50]
    assert (found.statement.opening_minor, found.statement.closing_minor) == (972_50, 2_000_00)
    assert found.statement.not_booked == 1
    with pytest.raises(actions.ColumnsUnclear, match="two things"):
        actions.say(account=file.account, columns={"on": "In", "amount": "In"}, decimal="", day_first=None)


def test_an_ofx_file_of_the_newer_form_and_closed_tags(books):
    """OFX 2 is XML; many banks close every tag of the older form too."""
    old = ofx(MOVED, closing=CLOSING).decode()
    body = old[old.index("<OFX>") :]
    closed = body
    for tag in ("CURDEF", "ACCTID", "TRNTYPE", "DTPOSTED", "TRNAMT", "FITID", "NAME", "MEMO", "BALAMT", "DTASOF"):
        parts = closed.split(f"<{tag}>")
        closed = parts[0] + "".join(f"<{tag}>{part.replace('<', f'</{tag}><', 1)}" for part in parts[1:])
    newer = f'<?xml version="1.0"?><?OFX OFXHEADER="200" VERSION="211"?>{closed}'

    readings = [bank_files.read(text.encode())[0] for text in (old, closed, newer)]

    assert readings[0] == readings[1] == readings[2]
    assert readings[0].closing_minor == CLOSING


BOMB = (
    b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a "'
    + b"x" * 1000
    + b'">'
    + b"".join(b'<!ENTITY b%d "&%s;&%s;">' % (n, prev, prev) for n, prev in [(0, b"a"), (1, b"b0"), (2, b"b1")])
    + b"]><Document>&b2;</Document>"
)


@pytest.mark.parametrize(
    ("content", "refusal"),
    [
        (BOMB, markup.MarkupDeclares),
        (b'<!DOCTYPE a SYSTEM "file:///etc/passwd"><a/>', markup.MarkupDeclares),
        (b"<a>" * 100, markup.MarkupTooLarge),
        (b"<a>" + b"<b/>" * 10_001 + b"</a>", markup.MarkupTooLarge),
        (b"<a>" + b" " * (21 * 1024 * 1024), markup.MarkupTooLarge),
        (b'<?xml version="1.0" encoding="ebcdic-x"?><a/>', markup.MarkupBroken),
        (b"<a", markup.MarkupBroken),
        (b"OFXHEADER:100\n<OFX>" + b"<A>" * 100, bank_files.BankFileUnread),
        (b"OFXHEADER:100\n<OFX>" + b"<A>1" * 10_001, bank_files.BankFileUnread),
        (b"OFXHEADER:100\n<OFX>\x81\x8d</OFX>", bank_files.BankFileUnread),
    ],
)
def test_bombs_and_broken_files_are_refused_in_bounded_memory(monkeypatch, content, refusal):
    monkeypatch.setattr(markup, "MOST_ELEMENTS", 10_000)
    monkeypatch.setattr(ofx_form, "MOST_ELEMENTS", 10_000)
    tracemalloc.start()
    try:
        with pytest.raises(refusal, match="Nothing was read"):
            bank_files.read(content)
        assert tracemalloc.get_traced_memory()[1] < 64 * 1024 * 1024
    finally:
        tracemalloc.stop()


def workbook() -> bytes:
    book, kept = openpyxl.Workbook(), io.BytesIO()
    book.active.append(["Date", "Name", "Details", "Amount"])
    for on, minor, who, words in MOVED:
        book.active.append([on, who, words, minor / 100])
    book.save(kept)
    return kept.getvalue()


FILES = (
    camt(MOVED, opening=OPENING),
    ofx(MOVED, closing=CLOSING),
    ofx(MOVED, closing=CLOSING).split(b"\n\n")[1],
    table(MOVED, opening=OPENING),
    table(MOVED, opening=None, separator=";"),
    ABOVE + table(MOVED, opening=OPENING, separator=";"),
    workbook(),
)
SAVINGS = BankAccount(name="Savings", currency="USD")
MARKS = (b"", b"", b"", b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"\n\n")


@pytest.mark.random
@pytest.mark.django_db  # the house's decimals are asked once
@given(st.data())
@settings(max_examples=10_000 if SOAK else 1_000, deadline=None)
def test_a_mutated_file_is_read_exactly_or_refused_in_one_sentence(data):
    """Cut, put, turned, ended early, other encodings and marks: statements that foot, or one sentence."""
    content = data.draw(st.sampled_from(FILES))
    if not content.startswith(b"PK") and data.draw(st.booleans()):
        content = content.decode("cp1252").encode(
            data.draw(st.sampled_from(["utf-8", "utf-16", "utf-16-le", "cp1252"]))
        )
    content = data.draw(st.sampled_from(MARKS)) + mutated(content, data)
    try:
        found = bank_files.read(content, account=SAVINGS, closing_minor=CLOSING)
    except Refusal as refused:
        assert 20 < len(str(refused)) < 400 and "Nothing was read" in str(refused)
        return
    for one in found:
        assert one.opening_minor + sum(line.amount_minor for line in one.lines) == one.closing_minor
        assert all(0 < abs(line.amount_minor) <= MOST_MINOR for line in one.lines)
        assert all(EARLIEST <= one.from_on <= line.on <= one.to_on <= LATEST for line in one.lines)
        assert len({line.identity for line in one.lines}) == len(one.lines)


def test_a_workbook_that_computes_or_unpacks_into_too_much_is_refused(monkeypatch):
    monkeypatch.setattr(tables, "MOST_UNPACKED", 1_000)

    with pytest.raises(tables.TableTooLarge):
        bank_files.read(workbook(), account=SAVINGS)


@pytest.mark.django_db(transaction=True)
class TestCommand:
    @pytest.fixture
    def house(self, books):
        House.objects.create(pk=1, name="Larkweir Veterinary Practice", opening_on=oct(1), time_zone="UTC")
        User.objects.create(sign_in="greta", name="Greta", initials="GL")

    def run(self, tmp_path, content, *more):
        path, told, wrong = tmp_path / "october", io.StringIO(), io.StringIO()
        path.write_bytes(content)
        try:
            call_command("import_bank", path, "--json", *more, stdout=told, stderr=wrong)
        except SystemExit as ended:
            return ended.code, told.getvalue(), wrong.getvalue()
        return 0, told.getvalue(), wrong.getvalue()

    def test_checked_taken_in_and_nothing_twice(self, house, tmp_path):
        content = camt(MOVED, opening=OPENING)

        code, checked, _ = self.run(tmp_path, content, "--check")
        assert (code, BankFile.objects.count(), BankAccount.objects.count()) == (0, 0, 0)
        code, first, _ = self.run(tmp_path, content, "--by", "greta")
        code_again, again, _ = self.run(tmp_path, content)

        assert (code, code_again) == (0, 0)
        assert json.loads(checked)["statements"] == json.loads(first)["statements"]
        assert json.loads(first)["statements"] == [
            {
                "account": ACCOUNT, "currency": "USD", "from": "2026-10-01", "to": "2026-10-09", "opening": "1000.00",
                "moved": "189.50", "closing": "1189.50", "lines": 4, "new": 4, "already_there": 0, "not_booked": 0,
            }
        ]  # fmt: skip
        assert [json.loads(one)["new"] for one in (checked, first, again)] == [4, 4, 0]
        assert BankStatement.objects.get().taken_by == User.objects.get().pk

        self.bad_input_is_one_sentence_and_two(tmp_path)
        self.a_missing_statement_is_one(tmp_path)

    def bad_input_is_one_sentence_and_two(self, tmp_path):
        files = BankFile.objects.count()
        for content, more in ((b"\x89PNG\0", ()), (b"<a/>", ()), (table(MOVED), ()), (camt(MOVED, closing=3), ())):
            code, told, wrong = self.run(tmp_path, content, *more)
            assert (code, told, wrong.count("\n")) == (2, "", 1) and "Nothing was read." in wrong
        assert self.run(tmp_path, table(MOVED), "--closing", "much")[0] == 2
        assert self.run(tmp_path, table(MOVED), "--by", "nobody")[0] == 2
        assert BankFile.objects.count() == files

    def a_missing_statement_is_one(self, tmp_path):
        code, told, _ = self.run(tmp_path, camt([(oct(20), 1_00, "Somebody", "thanks")], opening=CLOSING + 5))

        assert code == 1 and "A statement between them is missing." in json.loads(told)["gaps"][0]


def test_the_lines_of_the_bank_never_change(books):
    from django.db import IntegrityError, transaction

    taken(camt(MOVED, opening=OPENING))
    line = BankLine.objects.first()
    for attack in (
        lambda: BankLine.objects.update(amount_minor=1),
        lambda: BankLine.objects.all().delete(),
        lambda: BankStatement.objects.update(moved_minor=0, opening_minor=CLOSING),
        lambda: BankLineWords.objects.update(who="Somebody else"),
        lambda: BankLine.objects.create(
            account=line.account, statement=line.statement, identity=line.identity, on=line.on, amount_minor=5
        ),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            attack()
    BankLineWords.objects.update(who="", words="")

    assert sums() == [(OPENING, 0, 189_50, CLOSING)]
