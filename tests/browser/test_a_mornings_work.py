"""A morning's work: a giving site's file of 900 gifts becomes gifts, and the bank's statement agrees to the cent.

Worked by the file alone: what a day's gifts are less their fees and less what went back is what the site pays out.
"""

import csv
import io
import re
import uuid
from collections import defaultdict
from datetime import date

import pytest

from ledger.actions import donors
from ledger.audit import audit
from ledger.models import BankLine, Donor, Fund, Gift, GiftReturn
from tests.clinic import make
from tests.clinic.make import TODAY
from tests.ledger.bank import camt

pytestmark = pytest.mark.django_db(transaction=True)
HEADS = ("Gift date", "Donor", "E-mail", "Gross amount", "Fee", "Reference", "Comment", "Type")
GIFTS, DAYS, KNOWN, LONG = 900, 12, 37, 180_000
AMOUNTS = (15_00, 25_00, 8_50, 40_00, 100_00)


def fee(gross: int) -> int:
    return 30 + gross * 29 // 1000


def written(minor: int) -> str:
    return f"{minor // 100}.{minor % 100:02}"


def the_file() -> tuple[bytes, dict[int, int]]:
    """The site's list, and what it pays out for each day of October."""
    rows, days = [], defaultdict(int)
    for number in range(GIFTS):
        day, gross = 1 + number % DAYS, AMOUNTS[number % len(AMOUNTS)]
        donor = number % KNOWN if number >= 3 else KNOWN + number
        words = "for the wound fund" if number % 9 == 0 else ""
        cells = (f"Donor {donor:02}", f"d{donor:02}@mail.example", written(gross), written(fee(gross)))
        rows.append((f"2026-10-{day:02}", *cells, f"G-{number:04}", words, "gift"))
        days[day] += gross - fee(gross)
    for number in (10, 20):
        gross, name = AMOUNTS[number % len(AMOUNTS)], f"Donor {number % KNOWN:02}"
        rows.append(("2026-10-12", name, "", written(gross), "", f"G-{number:04}", "", "refund"))
        days[12] -= gross
    rows.append(("2026-13-01", "Nobody", "", "5.00", "0.44", "G-9999", "", "gift"))
    text = io.StringIO()
    csv.writer(text).writerows([HEADS, *rows])
    return text.getvalue().encode(), days


@pytest.fixture
def clinic(settings, tmp_path):
    settings.AS_OF, settings.MEDIA_ROOT = str(TODAY), tmp_path
    clinic = make.open_clinic()
    make.fund(clinic, "purpose", "Wound fund", purpose={"dressing"})
    for number in range(KNOWN):
        name, email = f"Donor {number:02}", f"d{number:02}@mail.example"
        donors.add(key=uuid.uuid4(), name=name, email=email, on=date(2026, 9, 1), by=clinic.bookkeeper.pk)
    return clinic


def upload(page, name: str, content: bytes) -> None:
    page.locator("input[type=file]").set_input_files(
        {"name": name, "mimeType": "application/octet-stream", "buffer": content}
    )
    page.get_by_role("button", name="Read the file").click()


def test_a_giving_sites_file_and_the_bank_to_zero_left_over(clinic, open_page):
    page = open_page(clinic.bookkeeper)
    content, days = the_file()

    page.goto("/ledger/gift-files/")
    page.get_by_label("Where it comes from").fill("The giving site")
    upload(page, "gifts.csv", content)
    page.get_by_label("Fund of a gift that names none").select_option(label="General")
    page.get_by_label("How these gifts come").select_option("giving_site")
    page.get_by_label("What the donor wrote decides the fund").fill("wound fund > Wound fund")
    page.get_by_role("button", name="Read it so").click()
    record = page.get_by_role("button", name=re.compile("Record the 902 that stand"))
    record.first.wait_for(timeout=LONG)
    assert record.count() == 2  # above its many rows, and below them
    record.last.click(timeout=LONG)
    page.get_by_text(re.compile("It is recorded: ")).first.wait_for(timeout=LONG)

    assert (Gift.objects.count(), GiftReturn.objects.count(), Donor.objects.count()) == (GIFTS, 2, KNOWN + 3)
    assert Gift.objects.filter(entry__postings__fund__name="Wound fund").distinct().count() == GIFTS // 9

    paid = [sum(days[day] for day in range(first, first + 4)) for first in (1, 5, 9)]
    moved = [(date(2026, 10, 5 + 4 * week), minor, "The giving site", "payout") for week, minor in enumerate(paid)]
    moved.append((date(2026, 10, 13), -4_00, "", "account fee"))
    page.goto("/ledger/bank/files/")
    upload(page, "october.xml", camt(moved))
    page.get_by_role("button", name="Take in 4 lines").click()
    page.get_by_role("button", name="Confirm what is ticked").click()
    page.get_by_role("link", name=re.compile("Say what it is")).click()
    page.get_by_label(re.compile("a fee of the bank")).check()
    page.locator("#id_fund_id").select_option(label="General")
    page.get_by_label("Note").fill("account fee")
    page.get_by_role("button", name=re.compile("Record it")).click()
    page.get_by_text("Something stands for every line of the bank.").wait_for()
    page.get_by_role("link", name="Bank beside books").click()
    page.get_by_text("They agree on October 13, 2026.").wait_for()
    page.get_by_role("button", name=re.compile("Sign as reconciled")).click()
    page.get_by_text(re.compile("Signed as reconciled to October 13, 2026")).wait_for()

    assert BankLine.objects.filter(matched__stands=True).count() == 4
    assert Fund.objects.get(kind="general") and page.complaints == []
    assert audit().findings == ()
