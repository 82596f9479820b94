"""Begun in the middle of a year: what the funds held and the year's gifts so far are files, and papers are right."""

import io
import json
import uuid
from datetime import date

import pytest
from django.core.management import call_command
from django.urls import reverse

from clinic.formulas.in_return import InReturn
from clinic.models import House
from clinic.queries.gift_receipt import ReceiptImpossible, year_receipt
from clinic.queries.impact_statement import impact_statement
from clinic.queries.stationery import stationery_of
from ledger.actions import gift_files, past_gifts, returns, reversals
from ledger.audit import audit
from ledger.models import Donor, Entry, Fund, Gift, Posting
from ledger.queries import donor_choices, donors, gifts
from ledger.queries import gift_files as queries
from tests.clinic import make
from tests.clinic.make import AT, TODAY
from tests.ledger.gift_lists import written

OPENING_HEADS = ["Fund", "Donor", "Received", "Balance"]
OPENING = [
    ["General", "", "", "200.00"],
    ["Wound fund", "Magda Illesz", "2026-03-03", "40.00"],
    ["wound fund", "", "", "10.00"],
    ["Nowhere", "", "", "1.00"],
    ["General", "", "2026-10-02", "7.00"],
    ["General", "", "", "-7.00"],
]
YEAR_HEADS = ["Date", "Donor", "Amount", "Reference", "Refund of", "Comment", "Type"]
YEAR = [
    ["2026-03-03", "Magda Illesz", "100.00", "P-1", "", "for wounds", "gift"],
    ["2026-04-05", "Magda Illesz", "25.00", "P-2", "", "", "gift"],
    ["2026-05-01", "Magda Illesz", "-20.00", "R-1", "P-1", "", "refund"],
    ["2026-05-02", "Magda Illesz", "-25.00", "R-2", "P-2", "", "refund"],
    ["2025-12-31", "Magda Illesz", "9.00", "P-0", "", "", "gift"],
    ["2026-10-05", "Magda Illesz", "50.00", "G-1", "", "for wounds", "gift"],
    ["2026-10-06", "Magda Illesz", "-1.00", "R-3", "P-1", "", "refund"],
]
NOTHING = InReturn(benefit_minor=0)


@pytest.fixture
def clinic(settings, tmp_path):
    settings.AS_OF, settings.MEDIA_ROOT = "2026-10-14", tmp_path
    clinic = make.open_clinic(percent=None)
    make.fund(clinic, "purpose", "Wound fund", purpose=["dressing"])
    return clinic


def brought(clinic, name: str, way: str, heads, rows):
    file = gift_files.bring(
        key=uuid.uuid4(), source=name, content=written(heads, rows), name=f"{name}.csv", by=1, at=AT
    )
    columns = {meaning: head for meaning, head in MEANINGS.items() if head in heads}
    columns |= {"on": "Received", "gross": "Balance"} if way == "opening" else {}
    wound = Fund.objects.get(name="Wound fund").pk
    said = {"way": way, "decimal": "", "day_first": None, "fund_id": Fund.objects.get(kind="general").pk}
    gift_files.say(source=file.source, columns=columns, **said, rules=[("wound", wound)])
    return file


MEANINGS = {
    "on": "Date",
    "gross": "Amount",
    "name": "Donor",
    "fund": "Fund",
    "reference": "Reference",
    "original": "Refund of",
    "words": "Comment",
    "kind": "Type",
}


def seen(file):
    return queries.preview(file=file, table=queries.table_of(file), today=TODAY)


def record(file):
    rows = gift_files.in_order(seen(file).new)
    gift_files.record(source=file.source, rows=rows, by=1, today=TODAY, at=AT)


@pytest.mark.django_db
class TestBeginning:
    @pytest.fixture
    def begun(self, clinic):
        self.held = brought(clinic, "Our old books", "opening", OPENING_HEADS, OPENING)
        self.year = brought(clinic, "Our bank", "bank", YEAR_HEADS, YEAR)
        self.told = [(one.line, one.sentence) for file in (self.held, self.year) for one in seen(file).wrong]
        record(self.held)
        self.after_opening = Posting.objects.count()
        record(self.year)
        self.magda = Donor.objects.get(name="Magda Illesz")
        return clinic

    def test_each_row_says_what_it_becomes_and_comes_once(self, begun):
        assert self.told == [
            (5, "No open fund that takes gifts is called Nowhere."),
            (6, "It came after these books began on October 1, 2026: bring it as a gift."),
            (7, "What was there when the books began is above zero."),
            (8, "The gift P-1 is from before these books began: record by hand what the bank took."),
        ]
        assert [(file.new, file.known) for file in (seen(self.held), seen(self.year))] == [((), 3), ((), 6)]
        assert Donor.objects.count() == 1
        assert audit().findings == ()

    def test_past_gifts_move_no_account(self, begun):
        """The bank holds what the funds held, and the one gift that came since."""
        bank = Posting.objects.filter(debit="bank").values_list("amount_minor", flat=True)

        assert sorted(bank) == [10_00, 40_00, 50_00, 200_00]
        assert (self.after_opening, Posting.objects.count()) == (3, 4)
        assert Entry.objects.filter(kind="past_gift").count() == 3
        assert set(Entry.objects.filter(kind="opening").values_list("on", flat=True)) == {date(2026, 10, 1)}

    def test_the_receipt_of_the_year_is_right_to_the_cent(self, begun):
        paper = year_receipt(
            donor_id=self.magda.id, year=2026, issued_on=TODAY, house=House.objects.get(), signer="Amos",
            returned=NOTHING,
        )  # fmt: skip

        # 100.00 less 20.00 that went back in May, nothing of what went back whole, 50.00 since; not what was left.
        assert [(line.received_on, line.amount_minor, line.words) for line in paper.lines] == [
            (date(2026, 3, 3), 80_00, "for wounds"),
            (date(2026, 10, 5), 50_00, "for wounds, for Wound fund"),
        ]
        assert paper.total_minor == 130_00
        year = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}
        assert donor_choices.donor_choice(donor_id=self.magda.id, **year).given_minor == 130_00
        assert donors.donor(donor_id=self.magda.id).given_minor == 139_00

    def test_the_first_statement_is_right_to_the_cent(self, begun):
        """Dressings of October 13: 12.00 each, and the wound fund's oldest money pays first: Magda's of March 3."""
        stay = begun.admit(on=date(2026, 10, 13), partner=False)
        for _ in range(4):
            begun.give(stay.animal, begun.dressing)
        begun.see_all()
        begun.sign()
        common = {
            "donor_id": self.magda.id, "donor": "Magda Illesz", "address": "", "to_on": TODAY, "issued_on": TODAY,
            "stationery": stationery_of(House.objects.get()), "signer": "Amos", "form": "full",
        }  # fmt: skip
        paper = impact_statement(from_on=date(2026, 10, 1), **common)

        # 48.00 of dressings: 40.00 of hers from March, then 8.00 of the 10.00 that nobody is named for.
        assert (paper.before_minor, paper.gave_minor, paper.paid_minor, paper.waiting_minor) == (
            40_00, 50_00, 40_00, 50_00,
        )  # fmt: skip
        assert paper.begun_on is None  # she gave nothing in these days before the books began
        assert impact_statement(from_on=date(2026, 1, 1), **common).begun_on == date(2026, 10, 1)
        assert [(gift.received_on, gift.is_new, gift.start_minor) for gift in paper.gifts] == [
            (date(2026, 3, 3), False, 40_00),
            (date(2026, 10, 5), True, 50_00),
        ]
        assert audit().findings == ()

    def test_a_past_gift_is_taken_back_as_every_entry_and_never_returned(self, begun):
        gift = Gift.objects.get(received_on=date(2025, 12, 31))
        with pytest.raises(returns.GiftFromBefore, match="from before these books began"):
            returns.give_back(key=uuid.uuid4(), gift_id=gift.id, how="refund", by=1, today=TODAY, at=AT, why="No.")
        reversals.take_back(key=uuid.uuid4(), number=gift.entry_id, why="Typed twice.", by=1, today=TODAY, at=AT)

        assert gifts.gift(gift_id=gift.id).row.is_taken_back
        with pytest.raises(ReceiptImpossible):
            year_receipt(
                donor_id=self.magda.id, year=2025, issued_on=TODAY, house=House.objects.get(), signer="Amos",
                returned=NOTHING,
            )  # fmt: skip
        assert audit().findings == ()

    def test_a_gift_of_these_books_is_no_past_gift(self, begun):
        one = past_gifts.PastGift(key=uuid.uuid4(), donor_id=None, amount_minor=5, received_on=date(2026, 10, 1))

        with pytest.raises(past_gifts.NotBefore, match="These books began on"):
            past_gifts.receive_all([one], by=1, today=TODAY, at=AT)

    def test_its_pages_say_so(self, begun, client):
        client.force_login(begun.bookkeeper, "django.contrib.auth.backends.ModelBackend")
        past = Gift.objects.get(received_on=date(2026, 3, 3), way="past")
        row = ["2026-02-02", "Magda Illesz", "3.00", "P-9", "", "", ""]
        more = brought(begun, "Our bank", "bank", YEAR_HEADS, [row])
        held = brought(begun, "Our old books", "opening", OPENING_HEADS, [["General", "Magda Illesz", "", "3.00"]])

        def page(name: str, *args: int) -> str:
            answer = client.get(reverse(f"ledger:{name}", args=args))
            assert answer.status_code == 200
            return answer.content.decode()

        assert "1 row is from before these books began, 3.00 for receipts alone" in page("gift_file", more.pk)
        assert "1 opening balance is new, 3.00" in page("gift_file", held.pk)
        assert "It came before these books began" in page("gift", past.id)
        assert "before these books began, for receipts" in page("donor", self.magda.id)
        assert "Magda Illesz" in page("opening")
        assert "gift from before these books" in page("entry", past.entry_id)


@pytest.mark.django_db(transaction=True)
def test_the_command_says_first_what_it_would_do(clinic, tmp_path):
    brought(clinic, "Our bank", "bank", YEAR_HEADS, YEAR)
    (tmp_path / "year.csv").write_bytes(written(YEAR_HEADS, YEAR))
    said = ("import_gifts", tmp_path / "year.csv", "--source", "Our bank", "--by", clinic.bookkeeper.sign_in)
    checked, done = io.StringIO(), io.StringIO()

    call_command(*said, "--check", "--json", stdout=checked, stderr=io.StringIO())
    before = Entry.objects.count()
    call_command(*said, "--keep-good", stdout=done, stderr=io.StringIO())

    assert json.loads(checked.getvalue()) == {
        "recorded": 6, "already_there": 0, "wait": 1, "gifts": 1, "went_back": 0, "past": 5, "opening_balances": 0,
        "new_donors": 1, "gross_minor": 50_00, "fee_minor": 0, "net_minor": 50_00,
    }  # fmt: skip
    assert (before, Entry.objects.count()) == (0, 6)
    assert done.getvalue() == "6 recorded, 0 in the books already, 1 wait.\n"
    assert audit().findings == ()
