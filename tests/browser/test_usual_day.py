"""The usual day on a tablet: 24 animals, three rounds, nine medications, the sheet opened once."""

from datetime import UTC, datetime

import pytest

from clinic.models import CareItem, EveningSeen
from config import clock
from tests.clinic import make

pytestmark = pytest.mark.django_db(transaction=True)

ANIMALS, MEDICATED, MOST_TAPS = 24, 9, 30
ROUNDS = {"morning": 8, "midday": 12, "evening": 17}


@pytest.fixture
def ward():
    clinic = make.open_clinic()
    for number in range(ANIMALS):
        animal = clinic.admit(f"Animal {number + 1:02}").animal
        clinic.order(animal, clinic.dressing, list(ROUNDS))
        if number < MEDICATED:
            clinic.order(animal, clinic.tablets, ["morning"])
    return clinic


class ByHand:
    def __init__(self, page) -> None:
        self.page, self.taps = page, 0

    def press(self, button) -> None:
        self.taps += 1
        button.tap()


class ByKeyboard(ByHand):
    def press(self, button) -> None:
        self.taps += 1
        button.focus()
        self.page.keyboard.press("Enter")


@pytest.mark.parametrize("way", [ByHand, ByKeyboard])
def test_the_usual_day_takes_at_most_thirty_taps(open_page, ward, monkeypatch, way):
    at(monkeypatch, ROUNDS["morning"])
    page = open_page(ward.nurse, width=1180, height=820, touch=True)
    page.goto("/ward/2026-10-14/")
    hand = way(page)

    for number, (name, hour) in enumerate(ROUNDS.items(), start=1):
        at(monkeypatch, hour)
        if number > 1:
            page.wait_for_timeout(600)  # a second tap at once, at the same place, would be taken for a slip
            page.evaluate("dispatchEvent(new Event('ward:look'))")
        page.get_by_text(f"in care, {name} round").wait_for()
        hand.press(page.get_by_role("button", name=f"Everything as ordered: {ANIMALS} ticks"))
        page.get_by_role("button", name="Everything as ordered: 0 ticks").wait_for()
        if number == 1:
            for place in range(MEDICATED):
                hand.press(page.get_by_role("button", name=f"Tablets for Animal {place + 1:02}"))
            page.get_by_text("given, PQ").nth(MEDICATED - 1).wait_for()
    hand.press(page.get_by_role("button", name=f"All {ANIMALS} seen"))
    page.get_by_text("All seen").first.wait_for()

    given = CareItem.objects.filter(on=make.TODAY, undone_at=None)
    assert given.filter(service=ward.dressing).count() == ANIMALS * len(ROUNDS)
    assert given.filter(service=ward.tablets).count() == MEDICATED
    assert EveningSeen.objects.count() == 1
    assert hand.taps == 13 <= MOST_TAPS
    assert page.complaints == []


def at(monkeypatch, hour: int) -> None:
    """Let it be that hour of the day in the clinic."""
    moment = datetime(2026, 10, 14, hour, 5, tzinfo=UTC)
    monkeypatch.setattr(clock, "now", lambda: moment)
