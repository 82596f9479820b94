"""One day lived in a real browser by three people, from the first tick to the donor's paper, to the cent.

Worked by hand, October 14, signed that evening. Prices (usual fee, asked): boarding 42.00, 24.00; padded dressing
26.00, 12.00; one tablet 5.00, 2.00; one minute of nursing 1.20, 0.70. The agreement with Brindle Yard pays 40 % of what
gifts naming the animal leave over. The Wound fund pays for dressings; 3.00 of Otto Quill's waits in it since October 2,
and 200.00 in General. Today Wren Abernathy gives 31.00 for Bracken's leg through a giving site, fee 1.27, so 29.73
reaches it, and 25.00 by the bank for the Wound fund. Bracken is Brindle Yard's dog; Minnow, a cat, is nobody's.

    line                  usual   asked    leg   agreed   wound  general
    Bracken  boarding     42.00   24.00  24.00                             of 29.73 in the leg's fund 5.73 is left
             dressing     26.00   12.00   5.73    2.51     3.76            of 6.27 left over 40 % is 2.508, 60 % 3.762:
                                                                           the odd cent to the larger remainder
             tablets x 2  10.00    4.00           1.60             2.40    40 % of 4.00; no fund fits tablets
             15 minutes   18.00   10.50           4.20             6.30    40 % of 10.50
    Minnow   boarding     42.00   24.00                           24.00    no partner, no fund of its own
             dressing     26.00   12.00                  12.00
    together             164.00   86.50  29.73    8.31   15.76    32.70    29.73 + 8.31 + 15.76 + 32.70 = 86.50

The Wound fund spends its oldest money first: of Bracken's 3.76 Otto's 3.00 and Wren's 0.76, of Minnow's 12.00 all
Wren's.

    Wren's paper   gave 31.00 + 25.00 = 56.00
                   Bracken: boarding 24.00, dressing 5.73 + 0.76 = 6.49, together 30.49
                   Minnow: dressing 12.00; care together 42.49
                   giving-site fee 1.27; not yet spent 25.00 - 0.76 - 12.00 = 12.24; 42.49 + 1.27 + 12.24 = 56.00
                   given by the clinic beside it: 18.00 + 14.00 x 6.49 / 12.00 = 25.57 and 14.00, together 39.57
"""

import io
import json
import re
import uuid
from contextlib import suppress
from datetime import date
from decimal import Decimal

import pypdf
import pytest
from django.core.management import call_command
from django.urls import reverse

from clinic.actions import orders, prices, services
from clinic.models import Animal, CareItem, EveningSeen, Signing
from ledger.actions import donors
from ledger.models import Entry, Fund
from tests.clinic import make
from tests.clinic.make import AT, TODAY

pytestmark = pytest.mark.django_db(transaction=True)

FIRST = date(2026, 10, 1)


@pytest.fixture
def clinic(settings):
    """The ward in the morning: two animals admitted today, their orders, the funds and what waits in them."""
    settings.AS_OF = str(TODAY)
    clinic = make.open_clinic()
    minutes = services.add_service(code="nursing", name="Nursing, extra time", kind="staff_time", unit="minute")
    prices.set_price(
        service=minutes, starts_on=FIRST, cost=Decimal("0.55"), usual_fee=Decimal("1.20"), asked=Decimal("0.70"),
        by=clinic.manager, at=AT,
    )  # fmt: skip
    bracken = clinic.admit("Bracken", on=TODAY).animal
    minnow = clinic.admit("Minnow", on=TODAY, species="cat", partner=False).animal
    for animal, service, rounds in (
        (bracken, clinic.dressing, ["midday"]),
        (bracken, clinic.tablets, ["midday", "evening"]),
        (minnow, clinic.dressing, ["midday"]),
    ):
        orders.give(
            key=uuid.uuid4(), animal=animal, service=service, rounds=rounds, starts_on=TODAY, by=clinic.vet, at=AT
        )
    make.fund(clinic, "animal", "Bracken's leg", subject_key=bracken.key)
    wound = make.fund(clinic, "purpose", "Wound fund", purpose=["dressing"])
    clinic.gift(Fund.objects.get(kind="general"), 200_00)
    clinic.gift(wound, 3_00, donor_id=_donor(clinic, "Otto Quill").pk)
    _donor(clinic, "Wren Abernathy")
    return clinic


def _donor(clinic, name: str):
    return donors.add(key=uuid.uuid4(), name=name, on=FIRST, by=clinic.bookkeeper.pk)


def sign_in(page, who: str) -> None:
    page.goto("/sign-in/")
    page.get_by_label("Name", exact=False).first.fill(who)
    page.locator("input[type=password]").fill("a-long-password")
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile(r"//[^/]+/$"))


def row(page, name: str):
    return page.locator("article.animal").filter(has=page.get_by_role("heading", name=name))


def said(page, selector: str = "main") -> str:
    return " ".join(page.locator(selector).inner_text().split())


def audited() -> dict:
    out = io.StringIO()
    with suppress(SystemExit):  # what it found is told by the assertion
        call_command("audit_books", "--json", stdout=out)
    return json.loads(out.getvalue())


def live_the_ward(page) -> None:
    """The nurse ticks what is ordered, writes minutes and a note, takes one slip back, and sees everybody."""
    sign_in(page, "pilar")
    page.get_by_role("link", name=re.compile("ward sheet", re.I)).first.click()
    page.evaluate("window.still = true")
    bracken = row(page, "Bracken")
    bracken.get_by_role("button", name="Padded dressing for Bracken").click()
    bracken.get_by_text("given, PQ").wait_for()
    bracken.get_by_role("button", name="Tablets for Bracken").click()
    bracken.get_by_text("1 of 2").first.wait_for()
    row(page, "Minnow").get_by_role("button", name="Padded dressing for Minnow").click()
    row(page, "Minnow").get_by_text("given, PQ").wait_for()
    bracken.locator("summary", has_text="Tablets for Bracken").click()
    bracken.get_by_text("It is for the evening.").wait_for()
    bracken.get_by_role("button", name="Given early").click()
    bracken.get_by_text("2 of 2").first.wait_for()
    assert page.evaluate("window.still"), "a tick loads no page anew"

    bracken.get_by_role("link", name="More").click()
    _write(page, "Nursing, extra time (minute)", "15")
    bracken.get_by_text("Nursing, extra time × 15 minutes").first.wait_for()
    _write(page, "Padded dressing (dressing)", "1")
    bracken.get_by_role("button", name="Undo Padded dressing").last.click()
    bracken.get_by_text("taken back").first.wait_for()
    bracken.get_by_label("In words").fill("Ate all of it, standing.")
    bracken.get_by_role("button", name="Keep the note").click()
    bracken.get_by_text("“Ate all of it, standing.”").wait_for()

    page.get_by_role("button", name="All 2 seen").click()
    page.get_by_text("All seen").wait_for()
    assert page.complaints == []


def _write(page, service: str, quantity: str) -> None:
    bracken = row(page, "Bracken")
    bracken.get_by_label("What else was given").select_option(label=service)
    bracken.get_by_label("How many").fill(quantity)
    before = bracken.locator(".log li").count()
    bracken.get_by_role("button", name="Write it down").click()
    bracken.locator(".log li").nth(before).wait_for()


def record_gifts(page) -> None:
    """The bookkeeper records what came today: one through a giving site for Bracken, one by the bank for dressings."""
    sign_in(page, "greta")
    for fund, amount, fee in (("Bracken's leg", "31.00", "1.27"), ("Wound fund", "25.00", "")):
        page.goto(reverse("ledger:gift_record"))
        page.get_by_label("Donor", exact=False).first.select_option(label="Wren Abernathy")
        page.get_by_label("Fund", exact=True).select_option(label=fund)
        page.get_by_label("Amount", exact=True).fill(amount)
        page.get_by_label("through a giving site" if fee else "by the bank").check()
        page.get_by_label("Fee of the giving site").fill(fee)
        page.get_by_role("button", name="Record the gift").click()
        page.get_by_role("heading", name="Wren Abernathy").wait_for()
    assert page.complaints == []


def sign_the_day(page) -> None:
    """The manager reads the preview, signs, and reads what was signed."""
    sign_in(page, "amos")
    page.goto("/sign-off/")
    page.get_by_role("link", name="Wednesday, October 14").click()
    total = said(page, "tfoot tr.total >> nth=0")
    assert total == "2 animals, 6 lines 73.95 164.00 86.50 29.73 8.31 15.76 32.70"
    assert "86.50 asked of the funds, 77.50 given by the clinic" in said(page)
    page.get_by_role("button", name="Sign Wednesday").click()
    page.get_by_text("2 animals signed off").wait_for()
    signed = said(page)
    for line in (
        "Bracken's leg 24.00",
        "Bracken's leg 5.73, Brindle Yard agreement 2.51, Wound fund 3.76",
        "Brindle Yard agreement 1.60, General 2.40",
        "Brindle Yard agreement 4.20, General 6.30",
        "General 24.00",
        "Wound fund 12.00",
    ):
        assert line in signed
    assert page.complaints == []


def test_one_day_from_the_first_tick_to_the_donors_paper(clinic, open_page):
    live_the_ward(open_page())
    books = open_page()
    record_gifts(books)
    sign_the_day(open_page())

    books.goto("/papers/")
    books.get_by_role("link", name="Wren Abernathy", exact=True).click()
    books.get_by_role("heading", name="What your gifts did").first.wait_for()
    address = books.get_by_role("link", name="Draft, PDF").get_attribute("href")
    answer = books.request.get(address)

    assert answer.headers["content-type"] == "application/pdf"
    paper = paper_words(answer.body())
    for line in (
        "You gave 56.00 USD in 2 gifts.",
        "You gave 56.00",
        "paid for care 42.49",
        "giving-site fees 1.27",
        "not yet spent 12.24",
        "the clinic gave 39.57 of its usual fees",
        "boarding, standard 24.00, padded dressing 6.49",
        "25.57 30.49",
        "padded dressing 12.00",
        "14.00 12.00",
        "2 animals 39.57 42.49",
        "Bracken's leg 31.00 1.27 29.73",
        "Wound fund 25.00 12.76 12.24",
        "Together 56.00 1.27 42.49 12.24",
    ):
        assert line in paper, (line, paper)
    assert "Otto" not in paper
    assert audited()["findings"] == []


def paper_words(content: bytes) -> str:
    """Read a paper's words in their order, with its marks of typesetting made plain."""
    words = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages)
    return " ".join(words.replace("’", "'").replace("\N{SOFT HYPHEN}", "").split())


def test_a_double_tap_is_one_tick(clinic, open_page):
    """However quick the answer is: the second tap may meet another button that the answer has put there."""
    page = open_page(clinic.nurse)
    page.goto("/ward/2026-10-14/")

    for pause, animal, kit in (
        (0, "Bracken", "Tablets for"),
        (150, "Bracken", "Padded dressing for"),
        (350, "Minnow", "Padded dressing for"),
    ):
        button = row(page, animal).get_by_role("button", name=kit)
        button.scroll_into_view_if_needed()
        box = button.bounding_box()
        page.mouse.click(box["x"] + 20, box["y"] + 20)
        page.wait_for_timeout(pause)
        page.mouse.click(box["x"] + 20, box["y"] + 20)
        page.wait_for_timeout(400)

    ticks = CareItem.objects.filter(undone_at=None).values_list("animal__name", "service__name")
    assert sorted(ticks) == [("Bracken", "Padded dressing"), ("Bracken", "Tablets"), ("Minnow", "Padded dressing")]
    assert CareItem.objects.count() == 3


def test_a_form_sent_again_writes_nothing_twice(clinic, open_page):
    page = open_page(clinic.nurse)
    page.goto(f"/ward/2026-10-14/?open={Animal.objects.get(name='Bracken').pk}")
    page.get_by_label("What else was given").select_option(label="Nursing, extra time (minute)")
    page.get_by_label("How many").fill("15")
    send = """async (which) => {
        const forms = [...document.querySelectorAll("form")].filter((form) => form.action.endsWith(which));
        return Promise.all([1, 2].map(async () => {
            const answer = await fetch(forms[0].action, {method: "POST", body: new FormData(forms[0])});
            return answer.status;
        }));
    }"""

    statuses = [page.evaluate(send, which) for which in ("/tick/", "/write/", "/all-seen/")]

    assert statuses == [[200, 200]] * 3
    assert sorted(CareItem.objects.values_list("service__name", "quantity")) == [
        ("Nursing, extra time", 15),
        ("Padded dressing", 1),
    ]
    assert EveningSeen.objects.count() == 1


def test_a_second_signature_is_refused_in_one_sentence(clinic, open_page):
    clinic.see_all(TODAY)
    first, second = open_page(clinic.manager), open_page(clinic.vet)
    for page in (first, second):
        page.goto("/sign-off/2026-10-14/")
    first.get_by_role("button", name="Sign Wednesday").dblclick()
    first.get_by_text("2 animals signed off").wait_for()
    before = Entry.objects.count()

    second.get_by_role("button", name="Sign Wednesday").click()

    second.get_by_text("October 14 has nothing left to sign off. Nothing was posted twice.").first.wait_for()
    assert (Signing.objects.count(), Entry.objects.count()) == (1, before)
    assert audited()["findings"] == []


def test_a_tick_works_with_scripts_off(clinic, open_page):
    page = open_page(clinic.nurse, scripts=False)
    page.goto("/ward/2026-10-14/")

    row(page, "Bracken").get_by_role("button", name="Tablets for Bracken").click()
    row(page, "Bracken").get_by_text("1 of 2").first.wait_for()
    row(page, "Bracken").get_by_role("button", name="Padded dressing for Bracken").click()
    row(page, "Bracken").get_by_text("given, PQ").first.wait_for()
    row(page, "Bracken").get_by_role("button", name="Padded dressing for Bracken: undo the last").click()
    row(page, "Bracken").get_by_role("button", name="Padded dressing for Bracken").wait_for()

    assert sorted(CareItem.objects.values_list("service__name", "undone_by__name")) == [
        ("Padded dressing", "Pilar Quist"),
        ("Tablets", None),
    ]
