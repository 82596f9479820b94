"""The worked day once more, through the pages alone: what people type, press and read, to October 25.

The figures are those of tests/ledger/test_worked_day.py, worked by hand there. Everything after the people, the prices
and the dog's stay is typed into the house's own forms, by whoever may.
"""

import io
import re
import uuid
from datetime import date

import pypdf
import pytest
from django.test import Client
from django.urls import reverse

from clinic.actions import animals
from clinic.models import CareItem
from config import clock
from ledger.audit import audit
from ledger.models import Donor, Entry, Fund, Gift, Posting
from tests.clinic import make
from tests.ledger import make as books

TYPED = {"cost_from": "typed", "asked_from": "typed"}
pytestmark = pytest.mark.django_db


@pytest.fixture
def clinic():
    clinic = make.open_clinic(percent=None)
    for service in (clinic.dressing, clinic.tablets):
        service.prices.all().delete()
    return clinic


class Person:
    """Somebody at the keyboard on a day."""

    def __init__(self, user, settings) -> None:
        self.client, self.settings = Client(), settings
        self.client.force_login(user)

    def send(self, page: str, /, *args, status: int = 303, **said):
        defaults = {"key": str(uuid.uuid4())}
        answer = self.client.post(reverse(page, args=args), defaults | said)
        assert answer.status_code in (status, 302), re.sub(r"<[^>]+>|\s+", " ", answer.content.decode())[:3000]
        return answer

    def read(self, name: str, *args, **asked) -> str:
        answer = self.client.get(reverse(name, args=args), asked)
        assert answer.status_code == 200
        words = re.sub(r"<[^>]+>", " ", answer.content.decode())
        return " ".join(words.replace("&#x27;", "'").split())


def today(settings, day: date) -> None:
    settings.AS_OF = str(day)
    assert clock.today("UTC") == day


def test_the_worked_day_through_the_pages(clinic, settings):
    oct_ = books.oct
    manager, bookkeeper = Person(clinic.manager, settings), Person(clinic.bookkeeper, settings)
    nurse = Person(clinic.nurse, settings)

    today(settings, oct_(1))
    prices = (
        (clinic.dressing, {"cost": "9.85", "donated": "2", "usual_fee": "26", "asked": "12"}),
        (clinic.tablets, {"cost": "1.60", "usual_fee": "5", "asked": "2"}),
    )
    for service, figures in prices:
        bookkeeper.send("clinic:price", service.pk, starts_on="2026-10-01", **TYPED, **figures)
    bracken = animals.admit(
        key=uuid.uuid4(), name="Bracken", species="dog", sex="unknown", admitted_on=oct_(13), level=clinic.standard,
        partner=clinic.partner, by=clinic.nurse, today=oct_(13), at=make.AT,
    ).animal  # fmt: skip
    general = Fund.objects.get(kind="general")
    for name in ("Donor G", "Donor H"):
        bookkeeper.send("ledger:donor_add", name=name, kind="person")
    g, h = Donor.objects.order_by("id")
    for kind, name, facts in (
        ("partner", "Brindle Yard fund", {"party_key": clinic.partner.key}),
        ("animal", "Bracken's leg", {"subject_key": bracken.key}),
        ("purpose", "Wound fund", {"traits": ["dressing"]}),
    ):
        clause = "What is not needed goes to general money."
        bookkeeper.send(
            "ledger:fund_open", kind=kind, name=name, is_restricted="on", leftover=clause, on="2026-10-01", **facts
        )
    yard, leg, wound = (Fund.objects.get(name=name) for name in ("Brindle Yard fund", "Bracken's leg", "Wound fund"))
    for fund, amount in ((general, "200.00"), (yard, "1.00")):
        bookkeeper.send("ledger:opening", fund_id=fund.pk, amount_minor=amount, on="2026-10-01")
    roll = {"words": "roll of bandage", "quantity": "1", "unit": "roll", "fair_value_minor": "10.00"}
    bookkeeper.send("ledger:goods_record", received_on="2026-10-01", **roll)
    bookkeeper.send(
        "ledger:agreements", clinic.partner.key, name="Brindle Yard agreement", percent="40", of="rest",
        from_on="2026-10-01",
    )  # fmt: skip

    today(settings, oct_(6))
    site = {"way": "giving_site", "fee_minor": "1.20", "received_on": "2026-10-02"}
    bookkeeper.send("ledger:gift_record", donor_id=g.pk, fund_id=leg.pk, amount_minor="30.00", **site)
    bookkeeper.send("ledger:payout_record", fund_id=leg.pk, amount_minor="28.80", on="2026-10-05")
    bank = {"way": "bank", "received_on": "2026-10-06"}
    bookkeeper.send("ledger:gift_record", donor_id=h.pk, fund_id=wound.pk, amount_minor="50.00", **bank)

    today(settings, oct_(13))
    for service, quantity in ((clinic.dressing, "1"), (clinic.tablets, "2")):
        nurse.send("clinic:write", oct_(13), animal=bracken.pk, service=service.pk, quantity=quantity)
    assert CareItem.objects.count() == 2
    nurse.send("clinic:all_seen", oct_(13))

    today(settings, oct_(14))
    preview = manager.client.get(reverse("clinic:sign_off", args=[oct_(13)])).content.decode()
    hidden = dict(re.findall(r'name="(key|digest)" value="([^"]+)"', preview))
    manager.send("clinic:sign_off", oct_(13), **hidden)
    boarding, dressing, tablets = Entry.objects.filter(kind="charge").order_by("id")
    assert books.legs(dressing.id) == [
        ("supplies", "due_to_practice", 4_80, "Bracken's leg"),
        ("due_from_partners", "partner_payments", 1_90, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 1_90, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 2_86, "Wound fund"),
        ("supplies", "donated_services", 14_44, "Given by the clinic"),
        ("supplies", "goods_on_hand", 2_00, "Donated goods"),
    ]
    assert balances() == (198_60, 0, 0, 47_14, 0, 0, 8_00)
    assert (books.account("due_to_practice"), books.account("due_from_partners")) == (-37_56, 3_50)
    assert {entry.on for entry in (boarding, dressing, tablets)} == {oct_(13)}

    today(settings, oct_(20))
    manager.send("clinic:line_correct", tablets.id, quantity="1", why="It was one tablet, not two.")
    assert balances()[0] == 199_80
    assert (books.account("due_to_practice"), books.account("due_from_partners")) == (-35_56, 2_70)

    today(settings, oct_(25))
    gift = Gift.objects.get(donor=g)
    bookkeeper.send("ledger:gift_return", gift.id, how="chargeback", way="bank", why="The bank's letter")
    assert balances() == (184_20, 0, 0, 44_26, 0, 0, 8_00)
    accounts = ("bank", "clearing", "due_from_partners", "due_to_practice", "boarding", "supplies", "fees")
    assert [books.account(code) for code in accounts] == [249_80, 0, 14_22, -35_56, 42_00, 31_00, 1_20]
    assert audit().findings == ()

    today(settings, oct_(31))
    october = {"from_on": "2026-10-01", "to_on": "2026-10-31"}
    assert "You gave 50.00 USD in 1 gift." in (paper := statement(bookkeeper, h.pk, october))
    assert re.search(r"Bracken.*: padded dressing 5\.74", paper), paper
    assert "44.26 is not yet spent and waits in Wound fund" in paper
    assert "You gave nothing new in these months" in statement(bookkeeper, g.pk, october)
    said = bookkeeper.read("clinic:who_paid", bracken.pk, **october)
    assert "Bracken’s care asked 35.56 USD" in said
    assert "Brindle Yard Rescue pays 40 % by agreement: 14.22" in said
    assert "The fund of Brindle Yard Rescue given for the animals of this partner 1.00" in said


def balances() -> tuple[int, ...]:
    names = (
        "General", "Brindle Yard fund", "Bracken's leg", "Wound fund", "Brindle Yard agreement", "Given by the clinic",
        "Donated goods",
    )  # fmt: skip
    return tuple(books.by_name()[name] for name in names)


def statement(person: Person, donor_id: int, period: dict) -> str:
    answer = person.client.get(reverse("clinic:impact_statement_pdf", args=[donor_id]), period)
    assert answer.status_code == 200, answer.status_code
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


class TestCorrectingASignedLine:
    """B10: afterwards a correction is a reversal and a new line, shown as one story."""

    @pytest.fixture
    def clinic(self):
        clinic = make.open_clinic()
        animal = clinic.admit().animal
        clinic.give(animal, clinic.tablets, quantity="2")
        clinic.sign()
        clinic.animal = animal
        return clinic

    @pytest.fixture
    def manager(self, clinic, settings):
        today(settings, make.TODAY)
        return Person(clinic.manager, settings)

    def tablets(self) -> Entry:
        return Entry.objects.get(kind="charge", words__line="Tablets", reversed_by=None)

    def test_its_story_has_six_steps(self, clinic, manager):
        """H4: fact, by whom, signed off, price, payers with reasons, approval."""
        story = manager.read("clinic:line", self.tablets().id)

        for step in ("What was given", "By whom", "Signed off", "Price", "Payers, and why", "Approval"):
            assert step in story
        assert "Pilar Quist" in story
        assert "By Amos Yelland" in story
        assert "nobody has paid this yet" in story

    def test_the_new_line_is_priced_as_on_its_day_and_both_are_one_story(self, clinic, manager):
        old = self.tablets()
        manager.send("clinic:line_correct", old.id, quantity="1", why="It was one.")

        new = self.tablets()
        assert new.charge.asked_minor * 2 == old.charge.asked_minor
        assert (new.on, new.charge.care_on) == (make.TODAY, make.DAY)
        story = manager.read("clinic:line", old.id)
        assert "another line stands in its place" in story
        assert story.count("It was one.") >= 2
        assert clinic.animal.changes.get(what="line of care").why == "It was one."
        assert audit().findings == ()

    def test_nought_takes_the_line_back(self, clinic, manager):
        old = self.tablets()
        manager.send("clinic:line_correct", old.id, quantity="0", why="It was the neighbor.")

        assert not Entry.objects.filter(kind="charge", words__line="Tablets", reversed_by=None).exists()
        assert "Nobody pays for it any more" in manager.read("clinic:line", old.id)
        assert audit().findings == ()

    def test_a_night_is_taken_back_too(self, clinic, manager):
        night = Entry.objects.get(kind="charge", charge__kind="boarding")
        manager.send("clinic:line_correct", night.id, quantity="0", why="Left the evening before.")

        assert (
            Posting.objects.filter(charge=night.charge, back_of=None).count()
            == Posting.objects.filter(charge__reverses=night.charge).exclude(back_of=None).count()
            + Posting.objects.filter(charge=night.charge).exclude(back_of=None).count()
        )
        assert audit().findings == ()

    @pytest.mark.parametrize(
        ("said", "sentence"),
        [
            ({"quantity": "2", "why": "same"}, "The line says so already"),
            ({"quantity": "-1", "why": "odd"}, "0 takes the line back"),
            ({"quantity": "1", "why": ""}, "How you know"),
        ],
    )
    def test_what_cannot_be_is_refused_and_nothing_is_posted(self, clinic, manager, said, sentence):
        before = Entry.objects.count()
        answer = manager.send("clinic:line_correct", self.tablets().id, status=422, **said)

        assert sentence in answer.content.decode()
        assert Entry.objects.count() == before

    def test_a_corrected_line_is_not_corrected_again(self, clinic, manager):
        old = self.tablets()
        manager.send("clinic:line_correct", old.id, quantity="1", why="It was one.")
        answer = manager.send("clinic:line_correct", old.id, quantity="3", why="No.", status=422)

        assert "This line is corrected already" in answer.content.decode()

    def test_a_service_without_a_price_on_that_day_is_named(self, clinic, manager):
        old = self.tablets()
        clinic.tablets.prices.all().delete()
        answer = manager.send("clinic:line_correct", old.id, quantity="1", why="one", status=422)

        assert "Tablets cannot be priced anew for that day" in answer.content.decode()


def test_a_price_with_a_donated_part_asks_for_less(settings):
    """C2, worked by hand: 12.00 x 7.85 / 9.85 = 9.56, and 2.00 of goods."""
    clinic = make.open_clinic()
    clinic.dressing.prices.all().delete()
    person = Person(clinic.bookkeeper, settings)
    figures = {"cost": "9.85", "usual_fee": "26", "asked": "12"}
    refused = person.send(
        "clinic:price", clinic.dressing.pk, starts_on="2026-10-01", donated="9.86", status=422, **TYPED, **figures
    )
    assert "it costs 9.85" in refused.content.decode()
    person.send("clinic:price", clinic.dressing.pk, starts_on="2026-10-01", donated="2.00", **TYPED, **figures)
    clinic.give(clinic.admit().animal, clinic.dressing)

    line = next(line for row in clinic.preview().rows for line in row.lines if line.words == "Padded dressing")
    assert line.asked_minor == 9_56
