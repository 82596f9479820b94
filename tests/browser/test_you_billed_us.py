"""An errand at the desk: "You billed us 800 while donors gave 5,000 for this dog." From the box to a printed answer.

Worked by hand. October 5: an operation asks 2,000.00; no gift names Bracken yet, so the agreement pays 40 %, 800.00,
and general money 1,200.00. October 8: three donors give 5,000.00 for Bracken. October 13: care of 1,500.00 is paid
by those gifts alone. So 3,500.00 waits, and what the partner was billed came before the gifts did.
"""

import io
import re
import uuid
from datetime import date
from decimal import Decimal

import pypdf
import pytest

from clinic.actions import prices
from ledger.actions import donors
from ledger.audit import audit
from ledger.models import Fund
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db(transaction=True)
NAMES = ("Wren Abernathy", "Otto Quill", "Imke Sandoval")


@pytest.fixture
def clinic(settings):
    settings.AS_OF = str(TODAY)
    clinic = make.open_clinic(percent=40)
    clinic.standard.service.prices.all().delete()
    free = {"cost": Decimal(0), "usual_fee": Decimal(0), "asked": Decimal(0)}
    prices.set_price(service=clinic.standard.service, starts_on=date(2026, 10, 1), by=clinic.manager, at=AT, **free)
    clinic.surgery.prices.all().delete()
    for on, asked in ((date(2026, 10, 1), 2000), (date(2026, 10, 6), 1500)):
        prices.set_price(
            service=clinic.surgery, starts_on=on, cost=Decimal(900), usual_fee=Decimal(3000), asked=Decimal(asked),
            by=clinic.manager, at=AT,
        )  # fmt: skip
    animal = clinic.admit("Bracken", on=date(2026, 10, 5)).animal
    clinic.gift(Fund.objects.get(kind="general"), 1200_00)
    clinic.give(animal, clinic.surgery, on=date(2026, 10, 5))
    clinic.sign(on=date(2026, 10, 5))
    named = make.fund(clinic, "animal", "Bracken's leg", subject_key=animal.key)
    for name, amount in zip(NAMES, (3000_00, 1500_00, 500_00), strict=True):
        donor = donors.add(key=uuid.uuid4(), name=name, on=date(2026, 10, 1), by=clinic.bookkeeper.pk)
        clinic.gift(named, amount, donor_id=donor.pk, on=date(2026, 10, 8))
    clinic.give(animal, clinic.surgery, on=date(2026, 10, 13))
    clinic.sign(on=date(2026, 10, 13))
    return clinic


def test_from_the_search_box_to_a_printed_answer_without_a_donors_name(clinic, open_page):
    page, steps = open_page(clinic.bookkeeper), 0
    page.goto("/")

    page.get_by_label(re.compile("Find an animal")).fill("Bracken")
    page.get_by_role("button", name="Find").click()
    steps += 1
    page.wait_for_url(re.compile(r"/animals/\d+/"))
    page.get_by_role("link", name="Who paid for Bracken").click()
    steps += 1
    shown = " ".join(page.locator("main").inner_text().split())
    address = page.get_by_role("link", name="Print, PDF").get_attribute("href")
    answer = page.request.get(address)
    steps += 1

    assert steps <= 6
    assert answer.headers["content-type"] == "application/pdf"
    reader = pypdf.PdfReader(io.BytesIO(answer.body()))
    printed = " ".join(" ".join(leaf.extract_text() for leaf in reader.pages).split())
    for words in (shown, printed):
        assert "Bracken’s care asked 3,500.00 USD. Gifts that name Bracken paid 1,500.00 of it first" in words
        assert "Brindle Yard Rescue pays 40 % by agreement: 800.00" in words
        assert "Given, 3 gifts" in words
        assert "5,000.00" in words
        assert re.search(r"Not yet spent, and kept for Bracken 3,500\.00", words)
        assert not any(part in words for name in NAMES for part in name.split())
        assert "900.00" not in words  # what it cost is for inside (I6)
    assert page.complaints == []
    assert audit().findings == ()
