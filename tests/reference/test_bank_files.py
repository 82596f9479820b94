"""Bank files, against the standards and against real files of others.

The ISO 20022 sample (MsgId AAAASESS-FP-STAT001): its figures are second hand, its shape is written here after the
published message definition. OFX 11.4.2.3.1: published rule. The files in `bank/` are real ones (see their README).
"""

from datetime import date
from pathlib import Path

import pytest

from ledger.actions import bank_files as actions
from ledger.models import BankLine, BankStatement
from ledger.queries import bank_files as queries
from tests.ledger import make

BANK = Path(__file__).parent / "bank"


def entry(amount: str, way: str, reference: str, status: str = "BOOK") -> str:
    return (
        f'<Ntry><Amt Ccy="SEK">{amount}</Amt><CdtDbtInd>{way}</CdtDbtInd><Sts>{status}</Sts><BookgDt><DtTm>'
        f"2010-10-18T13:15:00+01:00</DtTm></BookgDt><AcctSvcrRef>{reference}</AcctSvcrRef></Ntry>"
    )


def balance(code: str, amount: str, on: str) -> str:
    return (
        f'<Bal><Tp><CdOrPrtry><Cd>{code}</Cd></CdOrPrtry></Tp><Amt Ccy="SEK">{amount}</Amt>'
        f"<CdtDbtInd>CRDT</CdtDbtInd><Dt><Dt>{on}</Dt></Dt></Bal>"
    )


def sample(*, version: str = "04", closing: str = "435678.50", more: str = "") -> bytes:
    return (
        f'<?xml version="1.0"?><Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.{version}">'
        "<BkToCstmrStmt><GrpHdr><MsgId>AAAASESS-FP-STAT001</MsgId></GrpHdr><Stmt><Id>AAAASESS-FP-STAT001</Id>"
        "<Acct><Id><Othr><Id>50000000054910000003</Id></Othr></Id></Acct>"
        + balance("OPBD", "500000", "2010-10-15")
        + balance("CLBD", closing, "2010-10-18")
        + entry("105678.50", "CRDT", "CN_98765/01")
        + entry("200000", "DBIT", "ACCR-01")
        + entry("30000", "CRDT", "CONF-FX")
        + more
        + "</Stmt></BkToCstmrStmt></Document>"
    ).encode()


def figures(statement) -> tuple:
    return statement.opening_minor, statement.moved_minor, statement.closing_minor, statement.currency


@pytest.fixture
def crowns(db, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    make.books(currency="SEK")


@pytest.mark.parametrize("version", ["02", "04", "08", "14"])
def test_the_sample_of_iso_20022_foots_in_every_version(version):
    """CHECKS 5.1, second hand: 500,000 opens; 105,678.50 and 30,000 come, 200,000 goes; 435,678.50 closes."""
    (found,) = queries.read(sample(version=version))

    assert figures(found) == (50_000_000, -6_432_150, 43_567_850, "SEK")
    assert [line.amount_minor for line in found.lines] == [10_567_850, -20_000_000, 3_000_000]
    assert {line.on for line in found.lines} == {date(2010, 10, 18)}


def test_only_booked_entries_count():
    """CHECKS 5.1: a pending entry and one for information are in no sum."""
    more = entry("70.00", "CRDT", "P", "PDNG") + entry("8.00", "DBIT", "I", "INFO")

    (found,) = queries.read(sample(more=more))

    assert (len(found.lines), found.not_booked, found.closing_minor) == (3, 2, 43_567_850)


def test_a_closing_balance_that_does_not_follow_is_refused():
    with pytest.raises(queries.BankFileUnread, match="does not foot: 500,000.00 SEK .* 435,678.50 SEK, .* 435,678.51"):
        queries.read(sample(closing="435678.51"))


def test_imported_twice_it_adds_nothing(crowns):
    """CHECKS 5.1: the same file, and the same statement in other bytes."""
    for content in (sample(), sample(), sample() + b"\n"):
        file = actions.bring(key=make.key("bank"), content=content, name="x.xml", by=1, at=make.at(make.oct(20)))
        actions.take_in(file=file, today=make.oct(20), by=1, at=make.at(make.oct(20)))

    assert (BankStatement.objects.count(), BankLine.objects.count()) == (1, 3)


def test_two_statements_of_a_real_file():
    """The table beside the files, published: 18.15 + 8.85 = 27.00; 27.00 - 7.00 = 20.00, in euros."""
    first, second = queries.read((BANK / "camt053.v2.multi.statement.xml").read_bytes())

    assert figures(first) == (18_15, 8_85, 27_00, "EUR")
    assert figures(second) == (27_00, -7_00, 20_00, "EUR")
    assert [(line.who, line.words) for line in (*first.lines, *second.lines)] == [
        ("", "Transaction Description 1"),
        ("Company Name 2", "Transaction Description 2"),
    ]


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("camt053.v4.xml", "amounts in several currencies: CHF, EUR, JPY, SEK. Nothing was read."),
        ("camt053.v2.wrong.xml", "without a statement in it. Nothing was read."),
    ],
)
def test_what_is_refused_of_the_real_files(name, sentence):
    with pytest.raises(queries.BankFileUnread, match=sentence):
        queries.read((BANK / name).read_bytes())


def test_a_real_ofx_file_is_read():
    """The ledger balance is 100.99 after 0.01 - 34.51 - 25.00; the form names no opening balance."""
    (found,) = queries.read((BANK / "checking.ofx").read_bytes())

    assert figures(found) == (160_49, -59_50, 100_99, "USD")
    assert found.account == "5472369148 1452687~7"
    assert [(line.on, line.amount_minor) for line in found.lines] == [
        (date(2011, 3, 31), 1),
        (date(2011, 4, 5), -34_51),
        (date(2011, 4, 7), -25_00),
    ]
    assert found.lines[2].words == "RETURNED CHECK FEE, CHECK # 319 FOR $45.33 ON 04/07/11 check 319"


OFX = """OFXHEADER:100
DATA:OFXSGML
VERSION:102
ENCODING:USASCII
CHARSET:1252

<OFX><BANKMSGSRSV1><STMTTRNRS><TRNUID>1<STATUS><CODE>0<SEVERITY>INFO</STATUS><STMTRS><CURDEF>USD
<BANKACCTFROM><BANKID>1<ACCTID>7<ACCTTYPE>CHECKING</BANKACCTFROM>
<BANKTRANLIST><DTSTART>20261001<DTEND>20261005
{}
</BANKTRANLIST><LEDGERBAL><BALAMT>500,00<DTASOF>20261005120000[-5:EST]</LEDGERBAL></STMTRS></STMTTRNRS>
</BANKMSGSRSV1></OFX>
"""


def movement(amount: str, fitid: str, on: str = "20261002") -> str:
    return f"<STMTTRN><TRNTYPE>OTHER<DTPOSTED>{on}<TRNAMT>{amount}<FITID>{fitid}<NAME>Somebody</STMTTRN>"


@pytest.mark.parametrize(
    ("amount", "minor"), [("-34.51", -3451), ("+12,5", 1250), ("7", 700), ("-.50", -50), ("1000,00", 100_000)]
)
def test_amounts_are_signed_with_point_or_comma(amount, minor):
    """CHECKS 5.2, OFX 11.4.2.3.1 (published): signed from the customer's side, decimal point or comma."""
    (found,) = queries.read(OFX.format(movement(amount, "1")).encode())

    assert [line.amount_minor for line in found.lines] == [minor]


@pytest.mark.parametrize("amount", ["1,234.56", "1.234,56", "1 234", "12.345", "1e3", "", "--1", "٣"])
def test_grouped_amounts_and_worse_are_refused(amount):
    """CHECKS 5.2: no grouping."""
    with pytest.raises(queries.BankFileUnread):
        queries.read(OFX.format(movement(amount, "1")).encode())


def test_fitid_identifies_a_transaction_within_its_account():
    """CHECKS 5.2: the same FITID is one transaction, whatever stands twice; another content under it cannot be."""
    (once,) = queries.read(OFX.format(movement("5", "A") * 2 + movement("5", "B")).encode())

    assert [line.amount_minor for line in once.lines] == [500, 500]
    with pytest.raises(queries.BankFileUnread, match="Two different transactions have one FITID"):
        queries.read(OFX.format(movement("5", "A") + movement("6", "A")).encode())
