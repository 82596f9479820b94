"""A donor's impact statement: the trace of the books and nothing else, on screen and on paper (I1)."""

import io
import re
import uuid
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.db.models import Sum
from django.urls import reverse
from pypdf import PdfReader

from clinic.actions import issue_statement as printed
from clinic.actions import prices, services
from clinic.models import House
from clinic.queries import impact_statement as query
from clinic.queries.stationery import stationery_of
from ledger.actions import donors, policies, spending
from ledger.models import Donor, Fund, Gift, Use
from ledger.queries import donor_choices
from tests.clinic import make
from tests.clinic.make import DAY, TODAY

pytestmark = pytest.mark.django_db

YEAR = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}


@pytest.fixture
def clinic():
    return make.open_clinic()


@pytest.fixture
def donor(clinic):
    return donors.add(key=uuid.uuid4(), name="Imke & Tobias Sandoval", on=date(2026, 10, 1), by=clinic.bookkeeper.pk)


def statement(donor, **period) -> query.Statement:
    return query.impact_statement(
        donor_id=donor.pk,
        donor=donor.name,
        address="",
        issued_on=TODAY,
        stationery=stationery_of(House.objects.get()),
        signer="Greta Lindqvist",
        **{**YEAR, **period},
    )


@pytest.fixture
def signed(clinic, donor):
    """30.00 for the leg (fee 1.20) and 50.00 for dressings; one day of boarding 24.00, dressing 12.00, tablets 4.00.

    The leg's 28.80 pay 24.00 of the boarding and 4.80 of the dressing. Of the dressing's 7.20 left over the
    agreement pays 40 %, 2.88, and the wound fund 4.32; of the tablets' 4.00 the agreement pays 1.60 and nobody 2.40.
    So the donor's 80.00 paid 33.12 of care and 1.20 of fees, and 45.68 waits.
    """
    animal = clinic.admit(on=DAY).animal
    leg = make.fund(clinic, "animal", "Bracken's leg", subject_key=animal.key)
    wound = make.fund(clinic, "purpose", "Wound fund", purpose=["dressing"])
    clinic.gift(leg, 3000, donor_id=donor.pk, fee_minor=120, way="giving_site")
    clinic.gift(wound, 5000, donor_id=donor.pk)
    clinic.give(animal, clinic.dressing)
    clinic.give(animal, clinic.tablets, quantity="2")
    clinic.sign()
    return clinic


def test_its_sums_are_those_worked_by_hand(signed, donor):
    one = statement(donor)

    assert (one.gave_minor, one.paid_minor, one.fees_minor, one.waiting_minor) == (8000, 3312, 120, 4568)
    assert [(animal.name, animal.paid_minor, animal.days) for animal in one.helped] == [("Bracken", 3312, 1)]
    assert [(kind.words, kind.amount_minor) for kind in one.helped[0].kinds] == [
        ("Boarding, standard", 2400),
        ("Padded dressing", 912),
    ]
    assert [(gift.fund, gift.start_minor, gift.paid_minor, gift.waiting_minor) for gift in one.gifts] == [
        ("Bracken's leg", 3000, 2880, 0),
        ("Wound fund", 5000, 432, 4568),
    ]


def test_what_the_clinic_gave_beside_it_is_in_proportion(signed, donor):
    """Boarding: 18.00 given on 24.00 asked, all of it paid from gifts. Dressing: 14.00 on 12.00, of which 9.12 paid.

    18.00 + 14.00 x 9.12 / 12.00 = 28.64.
    """
    assert statement(donor).given_minor == 2864


def test_it_agrees_with_the_books_and_with_its_own_paper(signed, donor, client):
    """Three ways: the statement, the uses of the donor's inflows in the books, and the text read out of the PDF."""
    one = statement(donor)
    client.force_login(signed.bookkeeper, "django.contrib.auth.backends.ModelBackend")

    in_books = Use.objects.filter(inflow__gift__donor=donor, posting__charge__isnull=False)
    paper = client.get(
        reverse("clinic:impact_statement_pdf", args=[donor.pk]), {"from_on": "2026-01-01", "to_on": "2026-12-31"}
    )
    text = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(paper.content)).pages)

    assert in_books.aggregate(total=Sum("amount_minor"))["total"] == one.paid_minor
    assert paper["Content-Type"] == "application/pdf"
    for amount in ("80.00", "33.12", "1.20", "45.68", "28.64"):
        assert re.search(rf"(?<![\d.]){re.escape(amount)}(?!\d)", text), amount
    assert "Imke & Tobias Sandoval" in text
    assert "not tax advice" in text


def test_other_costs_of_a_fund_have_a_column_of_their_own_and_every_line_foots(clinic, donor, client):
    """15.00 for everything, of which 0.74 is the site's fee and 12.00 what the bank asked of the general fund."""
    general = Fund.objects.get(kind="general")
    clinic.gift(general, 1500, donor_id=donor.pk, fee_minor=74, way="giving_site")
    said = {"fund_id": general.pk, "words": "account fee", "on": DAY, "today": TODAY, "at": make.AT}
    spending.spend(key=uuid.uuid4(), kind="management", amount_minor=1200, by=clinic.bookkeeper.pk, **said)
    one = statement(donor)
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    page = client.get(
        reverse("clinic:impact_statement", args=[donor.pk]), {"from_on": "2026-01-01", "to_on": "2026-12-31"}
    ).content.decode()

    assert (one.gave_minor, one.fees_minor, one.other_costs_minor, one.waiting_minor) == (1500, 74, 1200, 226)
    assert (one.left_again_minor, one.gone_words) == (0, "giving-site fees, other costs")
    assert [
        (gift.start_minor, gift.fee_minor + gift.other_costs_minor + gift.paid_minor + gift.waiting_minor)
        for gift in one.gifts
    ] == [(1500, 1500)]
    assert one.flow is not None
    assert 'data-l="Other costs">12.00' in page and "Went back" not in page


def test_the_same_facts_give_the_same_bytes(signed, donor, client):
    client.force_login(signed.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    address = reverse("clinic:impact_statement_pdf", args=[donor.pk]) + "?from_on=2026-01-01&to_on=2026-12-31"

    assert client.get(address).content == client.get(address).content


def test_a_gift_of_an_earlier_year_waits_into_this_one(signed, donor):
    one = statement(donor, from_on=date(2026, 10, 10), to_on=date(2026, 12, 31))

    assert (one.gave_minor, one.before_minor, one.paid_minor, one.waiting_minor) == (0, 7880, 3312, 4568)
    assert one.new_gifts == 0
    assert one.start_minor == one.paid_minor + one.gone_minor + one.waiting_minor


def test_a_donor_whose_gift_is_still_unspent(clinic, donor):
    clinic.gift(Fund.objects.get(kind="general"), 2500, donor_id=donor.pk)

    one = statement(donor)

    assert (one.gave_minor, one.paid_minor, one.waiting_minor, one.helped) == (2500, 0, 2500, ())


def test_a_period_with_nothing_in_it_is_said_and_printed(clinic, donor, client):
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")

    paper = client.get(reverse("clinic:impact_statement_pdf", args=[donor.pk]))

    text = PdfReader(io.BytesIO(paper.content)).pages[0].extract_text()
    assert "nothing new" in " ".join(text.split())
    assert not Gift.objects.exists()


def test_an_unknown_donor_and_a_period_that_ends_before_it_begins(signed, donor, client):
    client.force_login(signed.bookkeeper, "django.contrib.auth.backends.ModelBackend")

    missing = client.get(reverse("clinic:impact_statement", args=[donor.pk + 1]))
    turned = client.get(
        reverse("clinic:impact_statement", args=[donor.pk]), {"from_on": "2026-05-01", "to_on": "2026-01-01"}
    )

    assert missing.status_code == 404
    assert turned.status_code == 422
    assert "ends before it begins" in turned.content.decode()


def test_no_line_is_lost_among_many_animals(clinic, donor):
    general = Fund.objects.get(kind="general")
    clinic.gift(general, 100_000, donor_id=donor.pk)
    for number in range(12):
        clinic.admit(f"Animal {number}", on=DAY, partner=False)
    clinic.sign()

    one = statement(donor)

    assert len(one.helped) == 12
    assert one.paid_minor == 12 * 2400
    assert one.flow.table.rows[0].cells[-4:] == ("24.00", "144.00", "712.00", "1,000.00")


def test_a_long_address_leaves_room_for_the_sums_and_what_the_clinic_gave_on_the_first_leaf(clinic, donor, client):
    """Ten gifts to twelve animals, and six lines of address: their drawing keeps to the room that is left."""
    address = "Care of Tench and Reeve\nSecond floor\nHarbor House\n14 Longacre Terrace\nLarkweir\nUnited States"
    Donor.objects.filter(pk=donor.pk).update(address=address)
    for _ in range(10):
        clinic.gift(Fund.objects.get(kind="general"), 6000, donor_id=donor.pk)
    for number in range(12):
        clinic.admit(f"Animal {number}", on=DAY, partner=False)
    clinic.sign()
    client.force_login(clinic.bookkeeper, "django.contrib.auth.backends.ModelBackend")
    paper = client.get(
        reverse("clinic:impact_statement_pdf", args=[donor.pk]),
        {"from_on": "2026-01-01", "to_on": "2026-12-31"},
    )
    first, *others = [leaf.extract_text() for leaf in PdfReader(io.BytesIO(paper.content)).pages]

    assert "United States" in first and "600.00" in first and "Beside it" in first
    assert [leaf.splitlines()[0].startswith("What your gifts did") for leaf in others[:1]] == [True]
    assert "Together" in others[-1] and "Thank you" in others[-1]  # the last words stand under their table


def many(clinic, donor, count: int) -> None:
    """So many animals boarded for a day, 24.00 each, out of the donor's 1,000.00 of general money."""
    clinic.gift(Fund.objects.get(kind="general"), 100_000, donor_id=donor.pk)
    for number in range(count):
        clinic.admit(f"Animal {number}", on=DAY, partner=False)
    clinic.sign()


def test_the_short_form_has_three_animals_and_a_line_for_the_others_that_adds_up(clinic, donor):
    """I2: three animals, "and 18 others" in one line that still adds up; fees and waiting money stay lines."""
    many(clinic, donor, 21)

    one = statement(donor, form="short")

    assert (len(one.shown), len(one.others)) == (3, 18)
    assert one.others_paid_minor == 18 * 2400
    assert sum(animal.paid_minor for animal in one.shown) + one.others_paid_minor == one.paid_minor == 21 * 2400
    assert sum(animal.given_minor for animal in one.shown) + one.others_given_minor == one.given_minor


def test_one_animal_more_is_told_and_not_counted_as_others(clinic, donor):
    many(clinic, donor, 4)

    assert (len(statement(donor, form="short").shown), statement(donor, form="short").others) == (4, ())


@pytest.mark.parametrize(("below", "form"), [(None, "full"), (100_000, "full"), (100_001, "short")])
def test_the_policy_chooses_the_form_by_what_was_given_in_the_year(clinic, donor, below, form):
    many(clinic, donor, 1)
    policies.set_policy(
        key=uuid.uuid4(), code="short_form_below", value=below, from_on=TODAY, why="a test", by=1, today=TODAY,
        at=make.AT,
    )  # fmt: skip

    assert statement(donor).form == form
    assert statement(donor, form="full").form == "full"


def test_last_care_is_named_the_same_everywhere(clinic, donor):
    """I2: euthanasia and cremation read "last care"."""
    animal = clinic.admit(on=DAY, partner=False).animal
    clinic.gift(Fund.objects.get(kind="general"), 100_000, donor_id=donor.pk)
    end = services.add_service(code="euthanasia", name="Euthanasia, at home", kind="care", unit="visit")
    said = {"cost": Decimal(20), "usual_fee": Decimal(80), "asked": Decimal(30), "by": clinic.manager, "at": make.AT}
    prices.set_price(service=end, starts_on=date(2026, 7, 1), **said)
    clinic.give(animal, end)
    clinic.sign()

    kinds = [(kind.words, kind.amount_minor) for kind in statement(donor).helped[0].kinds]

    assert kinds == [("Last care", 3000), ("Boarding, standard", 2400)]


def test_three_hundred_small_gifts_are_all_listed(clinic, donor):
    for number in range(300):
        clinic.gift(Fund.objects.get(kind="general"), 100 + number, donor_id=donor.pk)

    one = statement(donor)
    text = text_of(printed.drawn(one))

    assert (len(one.gifts), len(one.gift_tables), one.flow) == (300, 5, None)
    assert sum(gift.start_minor for rows in one.gift_tables for gift in rows) == one.gave_minor == 74_850
    assert all(amount in text for amount in ("1.00", "3.99", "748.50", "300 gifts"))


def text_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages)


def test_all_statements_together_are_what_the_books_say_gifts_paid(signed, donor):
    """Three ways, for every fund: the statements, the books by raw SQL, and the text of every PDF (I1).

    Anonymous gifts have no statement; what they paid stands beside it, so that the sum is whole.
    """
    clinic = signed
    other = donors.add(key=uuid.uuid4(), name="The Tuesday Walkers", on=date(2026, 10, 1), by=clinic.bookkeeper.pk)
    general = Fund.objects.get(kind="general")
    clinic.gift(general, 1000, donor_id=other.pk)
    clinic.gift(general, 1100, anonymous=True)
    clinic.admit("Button", on=DAY - timedelta(days=1), partner=False)
    clinic.sign(on=DAY - timedelta(days=1))

    chosen = donor_choices.with_money(**YEAR)
    each = [statement(one) for one in Donor.objects.filter(id__in=chosen)]
    by_fund = Counter()
    for one in each:
        by_fund.update({fund.fund_id: fund.amount_minor for fund in one.paid_by_fund})
        text = text_of(printed.drawn(one))
        for minor in one.sums().values():
            assert f"{minor / 100:,.2f}" in text or not minor
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT i.fund_id, CASE WHEN g.donor_id IS NULL THEN 0 ELSE 1 END, SUM(u.amount_minor) FROM ledger_use u"
            " JOIN ledger_posting p ON p.id = u.posting_id JOIN ledger_inflow i ON i.id = u.inflow_id"
            " JOIN ledger_gift g ON g.entry_id = i.entry_id WHERE p.charge_id IS NOT NULL GROUP BY 1, 2"
        )
        in_books = {(fund, bool(named)): int(minor) for fund, named, minor in cursor.fetchall()}

    assert len(each) == 2
    assert in_books[general.pk, False] == 1100
    assert {(fund, True): minor for fund, minor in by_fund.items()} == {k: v for k, v in in_books.items() if k[1]}
    assert sum(one.paid_minor for one in each) == sum(minor for (_, named), minor in in_books.items() if named) > 3312
