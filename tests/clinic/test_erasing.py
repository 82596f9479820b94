"""Erasing a donor (J4): their name is found in no table, log, export or kept copy, only in the issued papers that are
kept; every balance and digest is as it was. Every text column of every table is read, on both engines."""

import io
import json
import logging
import uuid
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from django.core import mail
from django.db import IntegrityError, connection, transaction
from django.urls import reverse
from pypdf import PdfReader

from clinic import audit as care_audit
from clinic.actions import issued_papers as paper_actions
from clinic.actions import mail_papers, paper_runs, run_papers
from clinic.actions.erase_donor import erase_donor
from clinic.actions.issue_receipt import issue_receipt
from clinic.actions.issue_statement import issue_statement
from clinic.formulas.in_return import InReturn
from clinic.models import House, IssuedPaper, PaperRun, PaperWithdrawal
from clinic.queries import issued_papers
from clinic.queries.stationery import stationery_of
from config.backups import outliving, restoring
from ledger import audit as books_audit
from ledger.actions import conditional_gifts, donor_erasures, donor_merges, donors, gift_files, gifts, waiting_gifts
from ledger.models import Donor, DonorErasure, DonorMerge, Entry, Fund, Gift, GiftFile, Words
from ledger.queries import donor_choices, donor_record
from ledger.queries import donors as donor_queries
from ledger.queries import gift_files as file_queries
from ledger.queries.balances import balances
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db

NAME, ALSO = "Imke Sandovalle", "I. M. Sandovalle"
# Whatever would betray her: her names, her e-mails, her streets, her number at the giving site.
BETRAYS = ("sandovalle", "imke", "weir lane", "gull stairs", "kindling-4711")
FILE = f"""Date,Donor,E-mail,Postal,Amount,Fee,Transaction,Comment,Phone
2026-10-03,{NAME},imke@mail.example,"27 Weir Lane, Larkweir",20.00,0.80,T-1,from {NAME},555 0199
2026-10-04,Ben Orr,ben@mail.example,,10.00,0.40,T-2,with {NAME} in mind,
2026-10-05,{NAME},imke@mail.example,"27 Weir Lane, Larkweir",5.00,0.20,,for Imke’s birthday,555 0199
"""
HEADS = {
    "on": "Date", "name": "Donor", "email": "E-mail", "address": "Postal", "gross": "Amount", "fee": "Fee",
    "reference": "Transaction", "words": "Comment",
}  # fmt: skip


@pytest.fixture(autouse=True)
def places_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT, settings.BACKUP_ROOT = tmp_path / "media", tmp_path / "backups"
    settings.AS_OF = "2026-10-14"
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"


@pytest.fixture
def clinic():
    """A clinic in which one donor has left traces wherever a donor can."""
    clinic = make.open_clinic()
    general = Fund.objects.get(kind="general")
    by = clinic.bookkeeper.pk
    imke = donors.add(
        key=uuid.uuid4(), name=NAME, address="8 Gull Stairs, Westmarsh", email="imke@mail.example", on=TODAY, by=by,
        note=f"{NAME} sings in the choir",
    )  # fmt: skip
    said = {"kind": "person", "name": NAME, "email": "imke@mail.example", "note": imke.note, "language": "de"}
    donors.change(donor_id=imke.pk, address="27 Weir Lane, Larkweir", wants="email", on=TODAY, by=by, **said)
    also = donors.add(key=uuid.uuid4(), name=ALSO, email="sandovalle@mail.example", on=TODAY, by=by)
    clinic.gift(general, 50_00, donor_id=imke.pk, words="Love from Imke S.")
    clinic.gift(general, 7_00, donor_id=also.pk)
    clinic.gift(general, 3_00, words=f"collected by {NAME.upper()}")
    apart = {"apart_name": f"{NAME} reserve", "donor_id": imke.pk, "amount_minor": 90_00, "today": TODAY, "at": AT}
    gifts.receive_apart(key=uuid.uuid4(), received_on=date(2026, 10, 2), by=by, **apart)
    conditional_gifts.receive(
        key=uuid.uuid4(), donor_id=imke.pk, fund_id=general.pk, amount_minor=4_00, received_on=TODAY, by=by,
        condition=f"{NAME} wants forty dogs neutered", today=TODAY, at=AT,
    )  # fmt: skip
    imported(clinic, FILE)
    site = GiftFile.objects.get().source
    donors.keep_number(donor_id=imke.pk, source=site, number="Kindling-4711")
    donor_merges.merge(
        key=uuid.uuid4(), donor_id=also.pk, into_id=imke.pk, why="Imke said so.", by=by, on=TODAY, at=AT
    )  # fmt: skip
    return clinic


@pytest.fixture
def papered(clinic):
    """The same, with a receipt, a run of statements and letters by e-mail."""
    clinic.admit(on=make.DAY, partner=False)
    clinic.sign()
    papers(clinic, Donor.objects.get(name=NAME))
    return clinic


def imported(clinic, content: str, name: str = f"gifts of {NAME}.csv") -> GiftFile:
    common = {"by": clinic.bookkeeper.pk, "at": AT}
    file = gift_files.bring(key=uuid.uuid4(), source="Kindling", content=content.encode(), name=name, **common)
    gift_files.say(
        source=file.source, columns=HEADS, way="giving_site", decimal=".", day_first=None,
        fund_id=Fund.objects.get(kind="general").pk, rules=[],
    )  # fmt: skip
    gift_files.record(source=file.source, rows=preview(file).new, today=TODAY, **common)
    return file


def preview(file: GiftFile):
    file.refresh_from_db()
    return file_queries.preview(file=file, table=file_queries.table_of(file), today=TODAY)


def papers(clinic, imke) -> None:
    common = {"house": House.objects.get(), "by": clinic.bookkeeper, "today": TODAY, "at": AT}
    nothing = InReturn(words="", benefit_minor=0, items_cost_minor=None, receipted_by="us", is_declared=False)
    issue_receipt(key=uuid.uuid4(), donor_id=imke.pk, year=2026, returned=nothing, **common)
    days = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}
    run = paper_runs.start(key=uuid.uuid4(), kind="donor", **days, form="", by=clinic.manager, today=TODAY, at=AT)
    run_papers.work(run=run, worker="a test", now=lambda: AT)
    mail_papers.send(run=run, now=lambda: AT)
    statement = IssuedPaper.objects.get(kind="impact_statement", donor_id=imke.pk)
    withdrawal = {"is_served": True, "by": clinic.bookkeeper, "at": AT}
    paper_actions.withdraw(paper=statement, why="Imke found an error.", **withdrawal)


def erase(clinic, why: str = "Asked for it by letter.", name: str = NAME):
    number = Donor.objects.get(name=name).pk
    return erase_donor(donor_id=number, why=why, by=clinic.bookkeeper.pk, today=TODAY, at=AT)


def everything_written() -> dict[str, str]:
    """Return every text of every column of every table, by table and column."""
    with connection.cursor() as cursor:
        found = {}
        for table in connection.introspection.table_names(cursor):
            columns = [column.name for column in connection.introspection.get_table_description(cursor, table)]
            for column in columns:
                cursor.execute(f'SELECT CAST("{column}" AS text) FROM "{table}" WHERE "{column}" IS NOT NULL')
                found[f"{table}.{column}"] = "\n".join(str(row[0]) for row in cursor.fetchall())
    return found


def betrayed(texts: dict[str, str]) -> dict[str, str]:
    return {where: one for where, text in texts.items() for one in BETRAYS if one in text.casefold()}


def kept_files(root: Path) -> dict[str, bytes]:
    return {str(path.relative_to(root)): path.read_bytes() for path in root.rglob("*") if path.is_file()}


def the_books() -> list:
    """Every figure and every digest of the books."""
    hidden = {"ledger_words", "ledger_donor", "ledger_donoraddress", "ledger_donornumber", "ledger_donormerge",
              "ledger_donorerasure", "ledger_giftfile", "ledger_fund"}  # fmt: skip
    with connection.cursor() as cursor:
        tables = [one for one in connection.introspection.table_names(cursor) if one.startswith("ledger_")]
        rows = []
        for table in sorted(set(tables) - hidden):
            cursor.execute(f'SELECT * FROM "{table}"')
            rows.append((table, sorted(map(str, cursor.fetchall()))))
    return [rows, balances(), list(Entry.objects.order_by("id").values_list("digest", "words_digest"))]


def test_the_name_is_found_nowhere_but_in_issued_papers_and_the_books_are_as_they_were(papered, settings, caplog):
    caplog.set_level(logging.DEBUG)
    before, found_before = the_books(), betrayed(everything_written())
    ids = set(donor_choices.names(ids=Donor.objects.filter(name__in=(NAME, ALSO)).values_list("pk", flat=True)))
    caplog.clear()

    left = erase(papered)

    assert {"ledger_donor.name", "ledger_words.note", "ledger_fund.name", "ledger_giftfile.name"} <= set(found_before)
    assert left == ()
    assert betrayed(everything_written()) == {}
    assert betrayed({"log": caplog.text}) == {}
    files = kept_files(settings.MEDIA_ROOT)
    assert {name[-3:] for name in files} == {"csv", "pdf"}
    assert betrayed({name: data.decode("utf-8", "replace") for name, data in files.items() if name[-3:] == "csv"}) == {}
    pages = [PdfReader(io.BytesIO(data)).pages for name, data in files.items() if name.endswith("pdf")]
    assert sum(NAME in page.extract_text() for found in pages for page in found) >= 2
    assert the_books() == before
    assert (books_audit.audit().findings, care_audit.audit().findings) == ((), ())
    assert set(DonorErasure.objects.values_list("donor", "why")) == {(one, "Asked for it by letter.") for one in ids}
    assert betrayed({"list": (settings.BACKUP_ROOT / outliving.LIST).read_text()}) == {}


def test_every_page_and_file_says_that_the_name_was_erased(papered, client):
    erase(papered)
    client.force_login(papered.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    one = Donor.objects.filter(same_as=None, erased_on__isnull=False).get().pk
    gift = Gift.objects.filter(donor=one).first()
    number = str(IssuedPaper.objects.filter(donor_id=one).first().number)

    addresses = [
        reverse("ledger:donors"), reverse("ledger:donor", args=[one]), reverse("ledger:gift", args=[gift.pk]),
        reverse("ledger:gifts"), reverse("clinic:papers"), reverse("clinic:issued_paper", args=[number]),
        reverse("ledger:gift_file", args=[GiftFile.objects.get().pk]),
        reverse("clinic:paper_run", args=[PaperRun.objects.get().pk]),
        reverse("clinic:donor_data_file", args=[one, "csv"]),
        reverse("ledger:entry", args=[gift.entry_id]),
        reverse("clinic:find") + "?q=sandovalle", reverse("ledger:donors") + "?name=sandovalle",
    ]  # fmt: skip
    pages = {address: client.get(address).content.decode().replace("“sandovalle”", "") for address in addresses}
    pages = {address: page.replace('value="sandovalle"', "") for address, page in pages.items()}

    assert betrayed(pages) == {}
    assert all("A donor whose name was erased on October 14, 2026" in pages[address] for address in addresses[:6])
    assert "rows of donors whose name was erased are blank" in pages[addresses[6]]
    assert "kept through December 31, 2033" in pages[addresses[5]]


def test_what_was_issued_is_kept_for_the_books_and_neither_printed_nor_mailed_nor_issued_anew(papered, client):
    receipt = IssuedPaper.objects.get(kind="gift_receipt")
    erase(papered)
    file = reverse("clinic:issued_paper_file", args=[receipt.number])
    answers = []
    for person in (papered.bookkeeper, papered.reader, papered.vet):
        client.force_login(person, "django.contrib.auth.backends.ModelBackend")
        answers.append(client.get(file).status_code)
    common = {"by": papered.bookkeeper, "today": TODAY, "at": AT, "stationery": stationery_of(House.objects.get())}
    days = {"from_on": date(2026, 10, 1), "to_on": date(2026, 10, 31)}

    assert answers == [200, 200, 404]
    assert issued_papers.content(paper=issued_papers.paper_of(number=str(receipt.number))) is None
    with pytest.raises(Exception, match="name was erased, so no paper can be made out"):
        issue_statement(key=uuid.uuid4(), donor_id=receipt.donor_id, donor="x", address="", form="", **days, **common)
    run = paper_runs.start(key=uuid.uuid4(), kind="donor", **days, form="", by=papered.manager, today=TODAY, at=AT)
    assert receipt.donor_id not in run.items.values_list("donor_id", flat=True)


def test_importing_the_file_again_adds_nothing_and_keeps_nothing_anew(clinic, settings):
    erase(clinic)
    gifts_before, kept = Gift.objects.count(), kept_files(settings.MEDIA_ROOT)

    again = imported(clinic, FILE)

    assert (Gift.objects.count(), GiftFile.objects.count()) == (gifts_before, 1)
    assert kept_files(settings.MEDIA_ROOT) == kept
    assert [(one.donor_name, one.is_known) for one in preview(again).rows] == [("Ben Orr", True)]
    assert file_queries.table_of(again).rows[0].cells == ("2026-10-03", "", "", "", "20.00", "0.80", "T-1", "", "")
    assert again.sha256 != again.copy_sha256


def test_what_stands_above_the_heads_of_a_file_goes_too(clinic, settings):
    heads = FILE.split("\n")[0]
    above = f"Box of the summer fair,counted by {NAME}\n\n"
    file = imported(clinic, f"{above}{heads}\n2026-10-06,Ben Orr,ben@mail.example,,9.00,,T-8,,\n", name="fair.csv")
    told = [row.cells for row in file_queries.table_of(file).above]

    erase(clinic)

    file.refresh_from_db()
    table = file_queries.table_of(file)
    assert told == [("Box of the summer fair", f"counted by {NAME}")]
    assert [(row.line, row.cells) for row in table.above] == [(1, ("Box of the summer fair", ""))]
    assert (table.heads_line, table.rows[0].line, table.rows[0].cells[1]) == (3, 4, "Ben Orr")
    assert [one.is_known for one in preview(file).rows] == [True]
    assert betrayed({name: kept.decode("cp1252") for name, kept in kept_files(settings.MEDIA_ROOT).items()}) == {}


def test_whoever_gives_again_is_somebody_new(clinic):
    """A key made of an e-mail must not lead back to the erased one."""
    erase(clinic)
    later = FILE.split("\n")[0] + f"\n2026-10-07,{NAME},imke@mail.example,,6.00,0.20,T-9,,\n"

    file = imported(clinic, later, name="later.csv")

    gift = Gift.objects.get(entry__key=preview(file).rows[0].key)
    assert (gift.donor.name, gift.donor.erased_on) == (NAME, None)


def test_only_words_that_hold_the_name_are_blanked(clinic):
    general = Fund.objects.get(kind="general")
    plain = clinic.gift(general, 1_00, donor_id=Donor.objects.get(name=NAME).pk, words="For the dogs.")
    other = clinic.gift(general, 1_00, words="Imkeby parish collection")

    erase(clinic)

    kept = dict(Words.objects.filter(entry__in=(plain.entry_id, other.entry_id)).values_list("entry", "note"))
    assert kept == {plain.entry_id: "For the dogs.", other.entry_id: "Imkeby parish collection"}


def test_a_namesake_keeps_their_name(clinic):
    other = donors.add(key=uuid.uuid4(), name=NAME, address="1 Fen Road", on=TODAY, by=1)
    gift = clinic.gift(Fund.objects.get(kind="general"), 1_00, donor_id=other.pk, words=f"From {NAME}.")
    number = Donor.objects.get(name=NAME, address__contains="Weir").pk

    erase_donor(donor_id=number, why="Asked for it.", by=1, today=TODAY, at=AT)

    assert donor_queries.donor(donor_id=other.pk).name == NAME
    assert Words.objects.get(entry=gift.entry_id).note == f"From {NAME}."


@pytest.mark.parametrize(
    ("why", "refusal", "sentence"),
    [
        (" ", donor_erasures.WhyMissing, "Write in a few words why"),
        ("Imke asked for it.", donor_erasures.ReasonNamesThem, "Write it without the name"),
    ],
)
def test_a_reason_is_given_and_names_nobody(clinic, settings, why, refusal, sentence):
    before = everything_written()

    with pytest.raises(refusal, match=sentence):
        erase(clinic, why)

    assert everything_written() == before
    assert not (settings.BACKUP_ROOT / outliving.LIST).exists()


def test_a_gift_that_waits_in_a_file_is_recorded_or_left_out_first(clinic, settings):
    """Once erased nobody could say whose it is."""
    late = FILE.split("\n")[0] + f"\n2026-12-24,{NAME},imke@mail.example,,6.00,0.20,T-9,,\n"
    file = imported(clinic, late, name="late.csv")
    waiting_gifts.keep(file=file, wrong=preview(file).wrong, by=clinic.bookkeeper.pk, on=TODAY)
    kept = kept_files(settings.MEDIA_ROOT)

    with pytest.raises(donor_erasures.GiftsWait, match="1 gift of theirs waits in the file late.csv"):
        erase(clinic)

    assert (Donor.objects.filter(name=NAME).count(), kept_files(settings.MEDIA_ROOT)) == (1, kept)
    assert outliving.read(settings.BACKUP_ROOT) == []


def test_a_reason_is_erased_and_never_written_anew(papered):
    paper = IssuedPaper.objects.filter(withdrawal__isnull=False).get()

    for said in ("Something else.", ""):
        with pytest.raises(IntegrityError), transaction.atomic():
            PaperWithdrawal.objects.filter(paper=paper).update(why=said)
    with pytest.raises(IntegrityError), transaction.atomic():
        PaperWithdrawal.objects.filter(paper=paper).update(why="[erased]", is_served=False)
    erase(papered)

    assert PaperWithdrawal.objects.get(paper=paper).why == "[erased]"


def test_nobody_is_erased_twice_changed_or_merged_afterwards(clinic):
    number = Donor.objects.get(name=NAME).pk
    erase(clinic)
    other = donors.add(key=uuid.uuid4(), name="Ann", on=TODAY, by=1)

    with pytest.raises(donor_erasures.NamelessBefore):
        erase_donor(donor_id=number, why="Again.", by=1, today=TODAY, at=AT)
    with pytest.raises(donors.DonorErased):
        donors.change(donor_id=number, kind="person", name="Imke", address="", email="", note="", on=TODAY, by=1)
    with pytest.raises(donor_merges.ErasedBefore):
        donor_merges.merge(key=uuid.uuid4(), donor_id=number, into_id=other.pk, why="Same.", by=1, on=TODAY, at=AT)
    with pytest.raises(donor_merges.ErasedBefore):
        donor_merges.undo(merge_id=DonorMerge.objects.get().pk, why="Two.", by=1, on=TODAY)


def test_a_copy_that_is_put_back_is_told_whom_to_erase_again(clinic, settings, tmp_path):
    """The list beside the backups names ids; one made elsewhere lies beside those backups."""
    line = outliving.Erased(
        key=str(Donor.objects.get(name=NAME).key), on="2026-10-12", by=clinic.manager.pk, why="Asked for it."
    )
    elsewhere = tmp_path / "elsewhere"
    outliving.write_down([line])
    outliving.spread(elsewhere)
    (settings.BACKUP_ROOT / outliving.LIST).unlink()

    restoring.put_back.send(sender=None, folder=elsewhere / "2026-10-14-030000")

    found = betrayed(everything_written())
    assert found == {}
    assert set(DonorErasure.objects.values_list("on", "by")) == {(date(2026, 10, 12), clinic.manager.pk)}
    assert "A donor whose name was erased on October 12, 2026" in set(Donor.objects.values_list("name", flat=True))


def test_the_data_of_one_person_is_readable_and_complete(papered, client):
    client.force_login(papered.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    number = Donor.objects.get(name=NAME).pk

    told = json.loads(client.get(reverse("clinic:donor_data_file", args=[number, "json"])).content)
    sheet = openpyxl.load_workbook(
        io.BytesIO(client.get(reverse("clinic:donor_data_file", args=[number, "xlsx"])).content)
    ).active
    csv = client.get(reverse("clinic:donor_data_file", args=[number, "csv"])).content.decode("utf-8-sig")

    who = {line["what"]: line.get("more", "") for line in told["Who they are"][:10]}
    assert (who["Name"], who["E-mail"], who["Language"], who["Wants to get"]) == (
        NAME, "imke@mail.example", "German", "e-mail",
    )  # fmt: skip
    assert [line.get("more") for line in told["Where they were reached before"]] == ["8 Gull Stairs, Westmarsh"]
    assert told["Numbers at giving sites"] == [{"what": "Kindling", "more": "Kindling-4711"}]
    assert sorted(line["amount"] for line in told["Gifts"]) == ["20.00", "5.00", "50.00", "7.00", "90.00"]
    assert [line["amount"] for line in told["Conditional gifts"]] == ["4.00"]
    assert len(told["Rows of gift files"]) == 3
    assert {line["what"].split(",")[1].strip() for line in told["Papers issued"]} == {
        "gift receipt", "impact statement",
    }  # fmt: skip
    assert [line["what"] for line in told["Letters by e-mail"]] == ["No. 2026-0002: sent"]
    assert [letter.to for letter in mail.outbox][:1] == [["imke@mail.example"]]
    assert ALSO in csv and csv.count("\n") == sheet.max_row
    assert donor_record.donor_record(donor_id=10_000, today=TODAY) == ()


def test_the_page_says_what_goes_and_what_stays_and_asks_twice(papered, client):
    client.force_login(papered.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    number = Donor.objects.get(name=NAME).pk
    address = reverse("clinic:donor_erase", args=[number])

    page = client.get(address).content.decode()
    unsure = client.post(address, {"why": "Asked for it."})
    named = client.post(address, {"why": "Imke asked.", "sure": "on"})
    still = Donor.objects.filter(name=NAME).exists()
    done = client.post(address, {"why": "Asked for it.", "sure": "on"})
    after = client.get(done["Location"]).content.decode()

    assert "ask a local adviser before you erase" in page and "1 receipt or letter stands" in page
    assert f"gifts of {NAME}.csv" in page and f"{NAME} reserve" in page and "Love from Imke S." in page
    assert (unsure.status_code, named.status_code, still) == (422, 422, True)
    assert "Read it, then tick that you did" in unsure.content.decode()
    assert "Write it without the name" in named.content.decode()
    assert "This donor’s name was erased on October 14, 2026 by Greta Lindqvist" in after
    assert client.get(address).status_code == 303
