"""The round done with the keyboard alone: tick, go on where one was, open a row, write, and take back."""

import pytest

from tests.clinic import make

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def ward(settings):
    settings.AS_OF = "2026-10-14"
    clinic = make.open_clinic()
    bracken = clinic.admit("Bracken").animal
    for service in (clinic.dressing, clinic.tablets):
        clinic.order(bracken, service, ["midday"])
    return clinic


def test_a_tick_by_keyboard_stays_where_it_was_and_reads_what_it_did(open_page, ward):
    page = open_page(ward.nurse, width=1180, height=820)
    page.goto("/ward/2026-10-14/")
    dressing = page.get_by_role("button", name="Padded dressing for")

    dressing.focus()
    page.keyboard.press("Enter")
    page.get_by_text("given, PQ").wait_for()

    assert page.locator(":focus").inner_text().startswith("Padded dressing")
    assert dressing.get_attribute("aria-pressed") == "true"
    assert page.complaints == []


def test_a_refused_line_brings_the_focus_to_the_reason_and_keeps_what_was_typed(open_page, ward):
    page = open_page(ward.nurse, width=1180, height=820)
    page.goto("/ward/2026-10-14/")
    page.get_by_role("link", name="notes and what else").press("Enter")
    page.get_by_label("What else was given").select_option(label="Padded dressing (dressing)")
    page.get_by_label("How many").fill("-3")

    page.get_by_role("button", name="Write it down").press("Enter")
    page.locator("[data-first-error]").wait_for()

    assert page.evaluate("document.activeElement.matches('[data-first-error]')") is True
    assert page.get_by_label("How many").input_value() == "-3"
