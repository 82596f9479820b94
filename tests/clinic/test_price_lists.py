"""Whole price lists: copied forward, taken away and brought in again, and found when they are old."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from clinic.actions import price_lists, prices
from clinic.formulas.price_lists import raised
from clinic.models import Price
from clinic.queries import prices as queries
from tests.clinic import make
from tests.clinic.make import AT

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
HEADS = "Code,Service,Unit,From,Cost,Donated,Usual fee,Asked\r\n"
NOVEMBER = date(2026, 11, 1)
ALL = ("cost", "usual_fee", "asked")


@pytest.fixture
def clinic(settings, client):
    settings.AS_OF = "2026-10-14"
    made = make.open_clinic()
    client.force_login(made.bookkeeper, BACKEND)
    return made


def figures(service, on: date = NOVEMBER) -> tuple[Decimal, Decimal, Decimal]:
    price = Price.objects.get(service=service, starts_on=on)
    return price.cost.amount, price.usual_fee.amount, price.asked.amount


def send(client, text: str):
    return client.post(reverse("clinic:price_import"), {"file": SimpleUploadedFile("list.csv", text.encode())})


def words(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_the_list_is_copied_forward_with_a_percentage_and_once(client, clinic):
    """9.85, 26 and 12 with 3.5 percent are 10.19475, 26.91 and 12.42; sent twice it is one list."""
    said = {"starts_on": "2026-11-01", "percent": "3.5", "figures": ALL}
    for _ in range(2):
        assert client.post(reverse("clinic:copy_prices"), said).status_code == 303

    assert figures(clinic.dressing) == (Decimal("10.19"), Decimal("26.91"), Decimal("12.42"))
    assert figures(clinic.dressing, date(2026, 7, 1)) == (Decimal("9.85"), 26, 12)
    assert Price.objects.filter(starts_on=NOVEMBER).count() == 4


def test_only_the_chosen_figures_rise(clinic):
    said = {"starts_on": NOVEMBER, "percent": Decimal(10), "by": clinic.bookkeeper, "at": AT}
    assert price_lists.copy_forward(figures=["cost"], **said) == 4

    assert figures(clinic.tablets) == (Decimal("1.76"), 5, 2)


def test_a_list_that_would_ask_more_than_usual_is_refused_whole(client, clinic):
    said = {"starts_on": "2026-11-01", "percent": "200", "figures": ["asked"]}
    answer = client.post(reverse("clinic:copy_prices"), said)

    assert answer.status_code == 422
    assert "a client would pay" in words(answer)
    assert not Price.objects.filter(starts_on=NOVEMBER).exists()


@pytest.mark.parametrize(
    ("starts_on", "percent", "refusal"),
    [
        (date(2026, 7, 1), Decimal(1), price_lists.NothingToCopy),
        (NOVEMBER, Decimal(-101), price_lists.PercentTooLow),
    ],
)
def test_what_cannot_be_copied_is_named(clinic, starts_on, percent, refusal):
    with pytest.raises(refusal):
        price_lists.copy_forward(starts_on=starts_on, percent=percent, figures=ALL, by=clinic.manager, at=AT)


def test_a_signed_day_keeps_its_list(clinic):
    stay = clinic.admit("Bracken")
    clinic.see_all()
    clinic.sign()

    with pytest.raises(prices.DaySignedAlready, match="signed off"):
        price_lists.copy_forward(starts_on=make.DAY, percent=Decimal(1), figures=ALL, by=clinic.manager, at=AT)
    assert stay.animal.boarding_days.exists() and Price.objects.count() == 4


def test_the_list_taken_away_comes_in_again_as_it_was(client, clinic):
    taken = client.get(reverse("clinic:price_file", args=["csv"]))
    text = taken.content.decode("utf-8-sig")

    assert taken["Content-Type"].startswith("text/csv")
    assert "padded-dressing,Padded dressing,dressing,2026-07-01,9.85,,26,12" in text
    assert client.post(reverse("clinic:price_import"), {"text": text, "keep": "yes"}).status_code == 303
    assert Price.objects.count() == 4


def test_a_list_is_shown_first_and_kept_on_a_yes(client, clinic):
    text = HEADS + "padded-dressing,,,2026-11-01,10.25,1.25,27.00,12.50\r\ntablets,,,2026-11-01,1.7,,5,2\r\n"
    answer = send(client, text)

    assert answer.status_code == 200
    assert "2 prices would stand" in words(answer) and "10.25" in words(answer)
    assert not Price.objects.filter(starts_on=NOVEMBER).exists()
    assert client.post(reverse("clinic:price_import"), {"text": text, "keep": "yes"}).status_code == 303
    assert figures(clinic.dressing) == (Decimal("10.25"), 27, Decimal("12.5"))
    assert Price.objects.get(service=clinic.dressing, starts_on=NOVEMBER).donated.amount == Decimal("1.25")


GOOD = "tablets,,,2026-11-01,1.7,,5,2\r\n"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            HEADS + GOOD + "tablets,,,2026-11-01,1.8,,5,2",
            "tablets has two prices from 2026-11-01; the other is on line 2",
        ),
        (HEADS + GOOD + "crutches,,,2026-11-01,1.8,,5,2", "There is no service with the code"),
        (HEADS + GOOD + "padded-dressing,,,2026-11-01,1.8,,5,6", "a client would pay 5"),
        (HEADS + GOOD + "padded-dressing,,,2026-11-01,1.8,2,5,4", "Donated is at most the cost"),
        (HEADS + GOOD + "padded-dressing,,,11/1/2026,1.8,,5,4", "is no date"),
        (HEADS + GOOD + 'padded-dressing,,,2026-11-01,"1,8",,5,4', "“1,8” is no amount"),
        (HEADS + GOOD + "padded-dressing,,,2026-11-01,NaN,,5,4", "“NaN” is no amount"),
        (HEADS + GOOD + "padded-dressing,,,2026-11-01,-1,,5,4", "below zero"),
        (HEADS + GOOD + "padded-dressing,,,2026-11-01,0.0000001,,5,4", "more digits than a price can have"),
        (HEADS + GOOD + "padded-dressing,,,2026-11-01,1.8,,5", "7 cells"),
        (HEADS + GOOD + "padded-dressing,,,2026-07-01,1.8,,5,4", "already has a price from 2026-07-01"),
        (HEADS, "The list has no row"),
        ("Code;Price\r\n", "The first line has to read"),
    ],
)
def test_a_row_that_cannot_stand_has_its_sentence_and_nothing_is_written(client, clinic, text, sentence):
    for answer in (send(client, text), client.post(reverse("clinic:price_import"), {"text": text, "keep": "yes"})):
        assert answer.status_code == 422
        assert sentence in words(answer), words(answer)[-1500:]
        assert "Set these prices" not in words(answer)

    assert Price.objects.count() == 4


def test_a_file_that_is_no_text_is_refused(client, clinic):
    picture = SimpleUploadedFile("list.csv", b"\x89PNG\xff\x00")
    answer = client.post(reverse("clinic:price_import"), {"file": picture})

    assert answer.status_code == 422 and "no text in UTF-8" in words(answer)


def test_a_list_older_than_twelve_months_needs_the_bookkeeper_before_a_day_is_signed(client, clinic, settings):
    assert queries.old_prices(on=date(2027, 7, 1)) == ()
    assert len(queries.old_prices(on=date(2027, 7, 2))) == 4
    settings.AS_OF = "2027-07-02"

    home = words(client.get(reverse("clinic:home")))
    assert "prices older than twelve months" in home and "Padded dressing" in home
    price_lists.copy_forward(starts_on=date(2027, 7, 2), percent=Decimal(0), figures=ALL, by=clinic.bookkeeper, at=AT)
    assert "older than twelve months" not in words(client.get(reverse("clinic:home")))


amounts = st.decimals(0, 10_000, places=4)


@given(figures=st.lists(amounts, min_size=2, max_size=4), percent=st.decimals(-100, 500, places=3))
def test_raised_figures_keep_their_order_and_stay_within_half_a_digit(figures, percent):
    for digits in (0, 2, 3):
        new = raised(figures=figures, percent=percent, least_digits=digits)

        order = sorted(range(len(figures)), key=figures.__getitem__)
        assert all(new[low] <= new[high] for low, high in zip(order, order[1:], strict=False))
        finest = max([digits, *(-int(amount.normalize().as_tuple().exponent) for amount in figures)])
        for before, after in zip(figures, new, strict=True):
            assert abs(Fraction(after) - Fraction(before) * (100 + Fraction(percent)) / 100) * 2 <= Fraction(
                1, 10**finest
            )
