"""Bills from the photograph at the animal to the payment (B8), through the pages."""

import uuid
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from clinic import audit as care
from clinic.actions import bills as actions
from clinic.models import Bill, User
from clinic.queries import bills as queries
from ledger import audit as books
from ledger.actions import bank_matches
from ledger.models import BillPayment, Posting
from ledger.queries.bank_proposals import proposals
from tests.clinic import make
from tests.clinic.make import AT, DAY, TODAY
from tests.ledger import bank

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"


@pytest.fixture
def clinic(settings, tmp_path):
    settings.AS_OF, settings.MEDIA_ROOT = "2026-10-14", tmp_path
    return make.open_clinic(percent=None)


def photograph() -> SimpleUploadedFile:
    made = BytesIO()
    Image.new("RGB", (40, 20), "white").save(made, format="JPEG")
    return SimpleUploadedFile("IMG_0001.exe", made.getvalue(), content_type="text/html")


def added(client, clinic, stay, who: User, **facts) -> Bill:
    client.force_login(who, BACKEND)
    said = {"key": uuid.uuid4().hex, "sender": "Weir Lane Laboratory", "words": "blood count", "care_on": DAY}
    answer = client.post(reverse("clinic:bill_add", args=[stay.animal_id]), {**said, "file": photograph(), **facts})
    assert answer.status_code == 303, answer.content.decode()[-3000:]
    return Bill.objects.latest("id")


def page(client, name: str, *args) -> str:
    return " ".join(client.get(reverse(f"clinic:{name}", args=args)).content.decode().split())


def legs(entry: int) -> list[tuple[str, str, int]]:
    return list(Posting.objects.filter(entry=entry).order_by("leg").values_list("debit", "credit", "amount_minor"))


def test_b8_from_the_photograph_to_the_payment(client, clinic):
    stay = clinic.admit("Bracken")
    clinic.gift(make.fund(clinic, "animal", "Bracken's leg", subject_key=stay.animal.key), 200_00)
    bill = added(client, clinic, stay, clinic.nurse)

    assert (bill.state, bill.amount_minor, bill.added_by) == ("to_check", None, clinic.nurse)
    client.force_login(clinic.bookkeeper, BACKEND)
    assert "photographed by Pilar Quist" in page(client, "bills")
    client.post(
        reverse("clinic:bill", args=[bill.pk]),
        {"outcome": "accept", "amount_minor": "84.50", "number": "WL-17", "care_on": DAY},
    )

    row = queries.bill(bill_id=bill.pk)
    assert (row.state, row.amount_minor, row.owed_minor) == ("to pay", 84_50, 84_50)
    assert legs(row.entry_number) == [("outside_services", "bills_to_pay", 84_50)]
    client.post(reverse("clinic:bill_pay", args=[bill.pk]), {"key": uuid.uuid4().hex, "on": TODAY})

    row = queries.bill(bill_id=bill.pk)
    assert (row.state, row.owed_minor, row.paid_on) == ("paid", 0, TODAY)
    assert legs(row.entry_number + 1) == [("bills_to_pay", "bank", 84_50)]
    assert stay.animal.changes.filter(what="bill paid").count() == 1
    assert "blood count, bill WL-17 of Weir Lane Laboratory" in page(client, "animal", stay.animal_id)
    assert (care.audit().findings, books.audit().findings) == ((), ())


def test_b8_given_by_its_sender_it_asks_nothing(client, clinic):
    bill = added(client, clinic, clinic.admit("Bracken"), clinic.vet)
    client.force_login(clinic.bookkeeper, BACKEND)

    client.post(reverse("clinic:bill", args=[bill.pk]), {"outcome": "give", "amount_minor": "84.50", "care_on": DAY})

    assert queries.bill(bill_id=bill.pk).state == "given by its sender"
    assert list(Posting.objects.values_list("debit", "credit", "amount_minor", "fund__kind")) == [
        ("outside_services", "donated_services", 84_50, "given")
    ]
    assert (care.audit().findings, books.audit().findings) == ((), ())


def test_the_ward_keeps_a_bill_and_never_sees_its_amount_or_its_paper(client, clinic):
    stay = clinic.admit("Bracken")
    bill = added(client, clinic, stay, clinic.nurse)
    actions.accept(bill=bill, amount_minor=84_50, care_on=DAY, number="", by=clinic.bookkeeper, today=TODAY, at=AT)

    assert "84.50" not in page(client, "animal", stay.animal_id)
    for name in ("bill", "bill_file"):
        assert client.get(reverse(f"clinic:{name}", args=[bill.pk])).status_code == 403
    client.force_login(clinic.reader, BACKEND)
    paper = client.get(reverse("clinic:bill_file", args=[bill.pk]))
    assert (paper["Content-Type"], paper["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert paper.content[:3] == b"\xff\xd8\xff"


def test_bills_to_check_by_the_end_of_a_month(client, clinic):
    bill = added(client, clinic, clinic.admit("Bracken"), clinic.nurse)

    assert [row.id for row in queries.to_check()] == [bill.pk]
    assert [row.id for row in queries.to_check(until=DAY)] == [bill.pk]
    assert queries.to_check(until=DAY.replace(day=1)) == ()


def test_paid_by_a_line_of_the_bank_its_animal_knows_it_too(client, clinic):
    stay = clinic.admit("Bracken")
    clinic.gift(make.fund(clinic, "animal", "Bracken's leg", subject_key=stay.animal.key), 200_00)
    bill = added(client, clinic, stay, clinic.nurse)
    said = {"amount_minor": 84_50, "care_on": DAY, "number": "", "by": clinic.bookkeeper}
    actions.accept(bill=bill, today=TODAY, at=AT, **said)
    bank.taken(bank.camt([(TODAY, -84_50, "Weir Lane Laboratory", "invoice")], opening=200_00), today=TODAY)
    tokens = {one.line.line_id: one.token for _, one in proposals(today=TODAY) if one and one.way == "bill"}

    bank_matches.confirm(tokens=tokens, hand=bank_matches.Hand(by=clinic.bookkeeper.pk, today=TODAY, at=AT))

    (line,) = stay.animal.changes.filter(what="bill paid")
    assert (line.by, line.at, line.after) == (clinic.bookkeeper, AT, {"bill": bill.pk, "on": str(TODAY)})
    assert line.what_id == BillPayment.objects.get(entry__at_bank__stands=True).pk


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"file": SimpleUploadedFile("bill.jpg", b"<script>", "image/jpeg")}, "neither a photograph"),
        ({"file": ""}, "Photograph the paper, or choose a file"),
        ({"sender": ""}, "Write it in a few words"),
        ({"care_on": "2026-10-20"}, "has not come yet"),
    ],
)
def test_a_bill_that_cannot_be_is_refused_at_the_field(client, clinic, facts, sentence):
    stay = clinic.admit("Bracken")
    client.force_login(clinic.nurse, BACKEND)
    said = {"key": uuid.uuid4().hex, "sender": "Lab", "words": "blood", "care_on": DAY, "file": photograph(), **facts}

    answer = client.post(reverse("clinic:bill_add", args=[stay.animal_id]), said)

    assert (answer.status_code, Bill.objects.count()) == (422, 0)
    assert sentence in answer.content.decode()


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"amount_minor": "0"}, "A bill asks for more than nothing"),
        ({"amount_minor": "-3"}, "Write the amount as it stands on the paper"),
        ({"care_on": "2026-10-20"}, "has not come yet"),
        ({"amount_minor": ""}, "Write an amount"),
    ],
)
def test_an_amount_that_cannot_be_is_refused_at_the_field(client, clinic, facts, sentence):
    bill = added(client, clinic, clinic.admit("Bracken"), clinic.nurse)
    client.force_login(clinic.bookkeeper, BACKEND)

    answer = client.post(
        reverse("clinic:bill", args=[bill.pk]), {"outcome": "accept", "amount_minor": "5", "care_on": DAY, **facts}
    )

    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert Bill.objects.get().state == "to_check"
    assert not Posting.objects.exists()


def test_checked_twice_with_other_words_is_refused(client, clinic):
    bill = added(client, clinic, clinic.admit("Bracken"), clinic.nurse)
    facts = {"care_on": DAY, "number": "", "by": clinic.bookkeeper, "today": TODAY, "at": AT}
    actions.accept(bill=bill, amount_minor=84_50, **facts)

    assert actions.accept(bill=bill, amount_minor=84_50, **facts).state == "accepted"
    with pytest.raises(actions.CheckedAlready, match="This bill is accepted already"):
        actions.give(bill=bill, amount_minor=84_50, **facts)
