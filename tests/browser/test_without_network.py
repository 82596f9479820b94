"""The ward without a connection: what is tapped is written down first, waits, and reaches the books of care once."""

import os
import random
import secrets
import threading
import time
import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Error

from clinic.actions import care, groups, sign_off
from clinic.models import CareItem, Observation
from clinic.views import present
from tests.browser.conftest import sign_in
from tests.clinic import make
from tests.conftest import SOAK

pytestmark = pytest.mark.django_db(transaction=True)

SHEET = "/ward/2026-10-14/"
NAMES = ("Bracken", "Ballast", "Sorrel")
SCHEDULES, MOVES = 200 if SOAK else 20, 9


@pytest.fixture
def ward(settings):
    """Three animals, each with a dressing and tablets to be given at midday."""
    settings.AS_OF = "2026-10-14"
    clinic = make.open_clinic()
    for name in NAMES:
        animal = clinic.admit(name).animal
        for service in (clinic.dressing, clinic.tablets):
            clinic.order(animal, service, ["midday"])
    return clinic


@pytest.fixture
def sheet(open_page, ward):
    page = open_page(ward.nurse, width=1180, height=820)
    page.goto(SHEET)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    return page


def given(on: date = make.TODAY) -> list[tuple[str, str]]:
    rows = CareItem.objects.filter(on=on, undone_at=None).values_list("animal__name", "service__name")
    return sorted(rows)


def kit(page, what: str, name: str):
    return page.get_by_role("button", name=f"{what} for {name}")


def panel(page):
    return page.locator("#written-down")


def waits(page) -> int:
    return page.evaluate("Object.keys(localStorage).filter((name) => name.startsWith('ward-entry:')).length")


def all_sent(page) -> None:
    """Wait until nothing waits any more; the content policy lets no test wait by a script of its own."""
    until = time.monotonic() + 20
    while waits(page):
        assert time.monotonic() < until, panel(page).inner_text()
        page.wait_for_timeout(50)


def kept_text(page) -> str:
    return page.evaluate("JSON.stringify(localStorage)")


def test_a_tap_without_a_connection_waits_and_is_sent_when_it_is_back(sheet):
    sheet.context.set_offline(True)
    kit(sheet, "Padded dressing", "Bracken").click()
    panel(sheet).get_by_text("There is no connection").wait_for()

    assert panel(sheet).inner_text().count("written down here") == 1
    assert "Not taken" not in panel(sheet).inner_text()
    assert "1 entry is written down here." in panel(sheet).inner_text()
    assert "waits to be sent" in kit(sheet, "Padded dressing", "Bracken").inner_text()
    assert given() == []

    sheet.context.set_offline(False)
    all_sent(sheet)
    sheet.get_by_text("given, PQ").wait_for()
    assert given() == [("Bracken", "Padded dressing")]
    assert panel(sheet).is_hidden()


def test_no_name_and_no_word_is_kept_in_the_browser(sheet):
    sheet.context.set_offline(True)
    kit(sheet, "Padded dressing", "Bracken").click()
    panel(sheet).get_by_text("There is no connection").wait_for()

    kept = kept_text(sheet)

    assert waits(sheet) == 1
    for word in ("Bracken", "dressing", "Padded", "Brindle"):
        assert word not in kept


def test_reloaded_without_a_connection_a_nameless_page_counts_what_waits(sheet):
    sheet.context.set_offline(True)
    for name in NAMES[:2]:
        kit(sheet, "Tablets", name).click()
    panel(sheet).get_by_text("2 entries are written down here.").wait_for()

    sheet.reload()
    sheet.get_by_text("2 entries are written down on this device.").wait_for()
    page = sheet.inner_text("body")
    assert not any(name in page for name in NAMES)

    sheet.context.set_offline(False)
    panel(sheet).wait_for(state="attached")  # it opens the sheet by itself
    all_sent(sheet)
    assert given() == [("Ballast", "Tablets"), ("Bracken", "Tablets")]


def test_the_nameless_page_opens_the_sheet_though_the_browser_never_says_that_it_is_online(sheet):
    """As where the house was silent and the network was not, or the first request after the word failed."""
    sheet.context.set_offline(True)
    sheet.context.add_init_script("addEventListener('online', (event) => event.stopImmediatePropagation())")
    sheet.reload()
    sheet.get_by_text("No entry waits on this device.").wait_for()

    sheet.context.set_offline(False)

    kit(sheet, "Tablets", "Bracken").wait_for()


def test_as_ordered_for_the_whole_round_waits_tick_by_tick_and_never_medication(sheet):
    sheet.context.set_offline(True)
    sheet.get_by_role("button", name="Everything as ordered").click()
    panel(sheet).get_by_text("3 entries are written down here.").wait_for()

    sheet.context.set_offline(False)
    all_sent(sheet)

    assert given() == [(name, "Padded dressing") for name in sorted(NAMES)]


def test_what_else_was_given_is_written_down_twice_where_it_was_given_twice(sheet):
    sheet.goto(f"{SHEET}?open={make.Animal.objects.get(name='Bracken').pk}")
    sheet.context.set_offline(True)
    for _ in range(2):
        sheet.get_by_label("What else was given").select_option(label="Padded dressing (dressing)")
        sheet.get_by_role("button", name="Write it down").click()
    panel(sheet).get_by_text("2 entries are written down here.").wait_for()

    sheet.context.set_offline(False)
    all_sent(sheet)

    assert given() == [("Bracken", "Padded dressing")] * 2


def test_a_row_signed_off_meanwhile_is_explained_kept_and_sent_as_a_late_entry(sheet, ward):
    sheet.context.set_offline(True)
    kit(sheet, "Padded dressing", "Bracken").click()
    panel(sheet).get_by_text("There is no connection").wait_for()
    ward.see_all(make.TODAY)
    sign_off.sign_unread(key=uuid.uuid4(), on=make.TODAY, by=ward.manager, today=make.TODAY, at=make.AT)

    sheet.context.set_offline(False)
    panel(sheet).get_by_text("row of today is signed off").wait_for()
    assert (waits(sheet), given()) == (1, [])
    assert "Bracken, Padded dressing" in panel(sheet).inner_text()

    panel(sheet).get_by_role("button", name="Send as a late entry").click()
    all_sent(sheet)
    item = CareItem.objects.get()
    assert (item.late, item.late_source) == (True, "memory")


def test_signed_out_meanwhile_the_entries_wait_until_the_same_person_is_back(sheet, ward, live_server):
    sheet.context.set_offline(True)
    kit(sheet, "Padded dressing", "Bracken").click()
    panel(sheet).get_by_text("There is no connection").wait_for()
    Session.objects.all().delete()
    sheet.context.set_offline(False)
    panel(sheet).get_by_text("You are signed out.").wait_for()

    sign_in(sheet.context, ward.vet, live_server.url)
    sheet.goto(SHEET)
    panel(sheet).get_by_text("1 entry is of somebody else").wait_for()
    assert (waits(sheet), given()) == (1, [])

    sign_in(sheet.context, ward.nurse, live_server.url)
    sheet.goto(SHEET)
    all_sent(sheet)
    assert CareItem.objects.get().recorded_by == ward.nurse


def test_a_page_of_one_person_sends_nothing_under_another_persons_name(sheet, ward, live_server):
    sign_in(sheet.context, ward.vet, live_server.url)
    kit(sheet, "Padded dressing", "Bracken").click()
    panel(sheet).get_by_text("Somebody else is signed in here now.").wait_for()

    assert (waits(sheet), given()) == (1, [])


def test_signing_out_with_entries_waiting_is_said_first(sheet):
    sheet.context.set_offline(True)
    kit(sheet, "Padded dressing", "Bracken").click()
    panel(sheet).get_by_text("There is no connection").wait_for()

    sheet.get_by_role("button", name="Sign out").click()

    panel(sheet).get_by_text("To leave all the same, sign out once more.").wait_for()
    assert sheet.url.endswith(SHEET)


def test_what_another_person_writes_appears(sheet, ward):
    bracken = make.Animal.objects.get(name="Bracken")
    order = bracken.orders.get(service=ward.dressing)
    ward.give(bracken, ward.dressing, on=make.TODAY, order=order, round="midday")

    sheet.evaluate("dispatchEvent(new Event('ward:look'))")
    kit(sheet, "Padded dressing", "Bracken").get_by_text("given, PQ").wait_for()

    assert sheet.locator("#round-summary").inner_text().startswith("3 in care, midday round. 1 of 6 ticks made")
    assert sheet.complaints == []


def more(page, name: str):
    row = page.locator("article.animal").filter(has=page.get_by_role("heading", name=name))
    row.get_by_role("link", name="More").click()
    return row


def test_details_open_without_a_connection_and_what_is_told_by_taps_waits_as_codes(sheet):
    sheet.context.set_offline(True)
    bracken = more(sheet, "Bracken")
    bracken.get_by_text("What was written today shows when the connection is back.").wait_for()
    bracken.get_by_role("button", name="Eats some").click()
    panel(sheet).get_by_text("1 entry is written down here.").wait_for()
    bracken.get_by_label("What else was given").select_option(label="Padded dressing (dressing)")
    bracken.get_by_label("How many").fill("2")
    bracken.get_by_role("button", name="Write it down").click()
    panel(sheet).get_by_text("2 entries are written down here.").wait_for()
    for label, figure in (("Pain", "3"), ("Out of", "10"), ("Weight, kg", "21.4")):
        bracken.get_by_label(label, exact=True).fill(figure)
    bracken.get_by_role("button", name="Keep pain and weight").click()
    panel(sheet).get_by_text("3 entries are written down here.").wait_for()

    kept = kept_text(sheet)
    assert not any(word in kept for word in ("eats", "Bracken", "dressing"))

    sheet.context.set_offline(False)
    all_sent(sheet)
    assert CareItem.objects.get().quantity == 2
    seen = Observation.objects.order_by("pk").values_list("kind", "words", "value", "maximum", "unit")
    assert list(seen) == [
        ("appetite", "eats some of it", 1, None, ""),
        ("pain", "", 3, 10, ""),
        ("weight", "without bandage", Decimal("21.4"), None, "kg"),
    ]


@pytest.mark.parametrize("days", [-2, 2])
def test_a_tablet_whose_clock_is_days_off_is_believed_for_the_order_of_its_entries_alone(open_page, ward, days):
    """The page names the day and the house the moment; what waits is sent in the order in which it was written."""
    page = open_page(ward.nurse, width=1180, height=820)
    page.clock.set_system_time(present.read().at + timedelta(days=days))
    page.goto(SHEET)
    page.context.set_offline(True)
    kit(page, "Tablets", "Bracken").click()
    kit(page, "Tablets", "Sorrel").click()
    panel(page).get_by_text("2 entries are written down here.").wait_for()
    page.context.set_offline(False)
    all_sent(page)

    kept = CareItem.objects.order_by("pk").values_list("animal__name", "on", "late", "recorded_at__date")
    assert list(kept) == [(name, make.TODAY, False, make.TODAY) for name in ("Bracken", "Sorrel")]


def test_a_note_without_a_connection_is_on_the_page_alone_and_the_page_says_so(sheet):
    sheet.context.set_offline(True)
    bracken = more(sheet, "Bracken")
    bracken.get_by_label("In words").fill("Toes warm, heel a little red.")
    bracken.get_by_role("button", name="Keep the note").click()
    panel(sheet).get_by_text("1 entry with words stands on this page alone").wait_for()

    assert "Leave the page open until they are sent" in panel(sheet).inner_text()
    assert (waits(sheet), "Toes" in kept_text(sheet)) == (0, False)
    asked = []
    sheet.once("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    sheet.close(run_before_unload=True)
    until = time.monotonic() + 5
    while not asked and time.monotonic() < until:
        sheet.wait_for_timeout(50)
    assert asked == ["beforeunload"]

    sheet.context.set_offline(False)
    panel(sheet).wait_for(state="hidden")
    assert Observation.objects.get().words == "Toes warm, heel a little red."


def test_details_that_are_open_stay_open_when_a_kit_is_tapped_or_another_person_writes(sheet, ward):
    bracken = more(sheet, "Bracken")
    bracken.get_by_label("In words").fill("half a sentence")
    kit(sheet, "Padded dressing", "Bracken").click()
    bracken.get_by_text("given, PQ").wait_for()
    bracken.get_by_label("How many").blur()
    ward.give(make.Animal.objects.get(name="Bracken"), ward.surgery, on=make.TODAY)

    sheet.evaluate("document.activeElement.blur(); dispatchEvent(new Event('ward:look'))")
    sheet.wait_for_timeout(500)

    assert bracken.get_by_label("In words").input_value() == "half a sentence"
    assert bracken.get_by_role("link", name="Close").get_attribute("aria-expanded") == "true"


def test_a_groups_details_open_without_a_connection_and_say_whose_it_is(sheet, ward):
    animals = [ward.admit(name).animal for name in ("Moss", "Fern")]
    said = {"by": ward.nurse, "today": make.TODAY, "at": make.AT}
    groups.form(key=uuid.uuid4(), name="The two of C5", members=animals, **said)
    sheet.goto(SHEET)
    sheet.context.set_offline(True)
    both = more(sheet, "The two of C5")
    both.get_by_label("Who", exact=True).select_option(label="Fern")
    both.get_by_role("button", name="Eats nothing").click()
    both.get_by_label("What else was given").select_option(label="Padded dressing (dressing)")
    both.get_by_label("Whose").select_option(label="Moss")
    both.get_by_label("for all 2 together").uncheck()
    both.get_by_role("button", name="Write it down").click()
    panel(sheet).get_by_text("2 entries are written down here.").wait_for()

    sheet.context.set_offline(False)
    all_sent(sheet)

    assert CareItem.objects.get().animal.name == "Moss"
    assert Observation.objects.get().animal.name == "Fern"


def test_one_more_beyond_the_order_counts_once_each_and_leaves_the_order_as_it_is(sheet):
    sheet.context.set_offline(True)
    plus = sheet.get_by_role("button", name="beyond the order: Padded dressing, Bracken")
    for _ in range(2):
        plus.click()
        sheet.wait_for_timeout(600)
    panel(sheet).get_by_text("2 entries are written down here.").wait_for()

    sheet.context.set_offline(False)
    all_sent(sheet)
    kit(sheet, "Padded dressing", "Bracken").get_by_text("due, 2 more").wait_for()

    assert given() == [("Bracken", "Padded dressing")] * 2
    assert CareItem.objects.filter(order=None).count() == 2


def test_one_more_on_a_page_read_anew_before_the_first_had_arrived_counts_too(sheet, monkeypatch):
    arrives, record = threading.Event(), care.record
    monkeypatch.setattr(care, "record", lambda **said: arrives.wait(20) and record(**said))
    plus = sheet.get_by_role("button", name="beyond the order: Padded dressing, Bracken")
    for _ in range(2):
        sheet.reload()
        plus.click()
    arrives.set()
    all_sent(sheet)

    assert given() == [("Bracken", "Padded dressing")] * 2


def test_an_animal_that_another_person_admits_appears(sheet, ward):
    ward.order(ward.admit("Otto").animal, ward.dressing, ["midday"])

    sheet.evaluate("dispatchEvent(new Event('ward:look'))")
    kit(sheet, "Padded dressing", "Otto").wait_for()

    assert sheet.locator("#round-summary").inner_text().startswith("4 in care")


# ------------------------------------------------------------------------------- any schedule


@pytest.mark.random
def test_over_any_schedule_every_entry_arrives_once(open_page, ward, settings, live_server):
    """Taps, lost connections, reloads, killed tabs, a second tab, a flush in both, an ended session: in any order.

    Each schedule has a day of its own, with the same animals and what is ordered for them.
    """
    seed = int(os.environ.get("RANDOM_SEED", secrets.randbelow(2**32)))
    print(f"seed {seed}")
    for number in range(SCHEDULES):
        day = make.TODAY + timedelta(days=number)
        settings.AS_OF = day.isoformat()
        lived = Schedule(open_page, ward, random.Random(seed + number), day, live_server.url)
        lived.live()
        assert given(day) == sorted(lived.tapped), f"schedule {number}: {lived.story}"


class Schedule:
    """One afternoon on one device; `tapped` is what was tapped, `story` what happened."""

    def __init__(self, open_page, ward, dice: random.Random, day: date, address: str) -> None:
        self.ward, self.dice, self.sheet, self.address = ward, dice, f"/ward/{day}/", address
        self.page = open_page(ward.nurse, width=1180, height=820)
        self.context = self.page.context
        self.offline = False
        self.tapped: list[tuple[str, str]] = []
        self.story: list[str] = []
        self.open(self.page)
        self.page.evaluate("navigator.serviceWorker.ready.then(() => true)")

    def live(self) -> None:
        moves = (
            self.tap,
            self.tap,
            self.tap,
            self.one_more,
            self.switch,
            self.reload,
            self.kill,
            self.both,
            self.end_session,
        )
        for _ in range(MOVES):
            move = self.dice.choice(moves)
            self.story.append(move.__name__)
            move()
        self.context.set_offline(False)
        self.come_back()
        all_sent(self.page)
        for page in self.context.pages:
            page.close()

    def open(self, page) -> None:
        """Open the sheet; the nameless page may be opening it by itself at the same moment."""
        for _ in range(5):
            try:
                page.goto(self.sheet)
            except Error:
                page.wait_for_timeout(100)
            else:
                return

    def come_back(self) -> None:
        """Sign in until it holds: the answer to something sent in the ended session still takes the new one away."""
        for _ in range(5):
            sign_in(self.context, self.ward.nurse, self.address)
            self.open(self.page)
            if self.page.locator("#written-down").count():
                self.page.wait_for_timeout(200)
                if not panel(self.page).get_by_text("You are signed out.").is_visible():
                    return

    def tap(self) -> None:
        if self.page.locator("#written-down").count() == 0:
            return  # the nameless page, or the door: there is nothing to tap
        what, name = self.dice.choice(("Padded dressing", "Tablets")), self.dice.choice(NAMES)
        button = kit(self.page, what, name)
        if (name, what) in self.tapped or button.count() == 0:
            return
        button.click()
        self.tapped.append((name, what))

    def one_more(self) -> None:
        """A dressing beyond the order: each tap of the + counts, however often it is sent."""
        name = self.dice.choice(NAMES)
        plus = self.page.get_by_role("button", name=f"beyond the order: Padded dressing, {name}")
        if self.page.locator("#written-down").count() == 0 or plus.count() == 0:
            return
        self.page.wait_for_timeout(600)  # a second tap at once, at the same place, would be taken for a slip
        plus.click()
        self.tapped.append((name, "Padded dressing"))

    def switch(self) -> None:
        self.offline = not self.offline
        self.context.set_offline(self.offline)

    def reload(self) -> None:
        self.open(self.page)

    def kill(self) -> None:
        """The tab dies in the middle of whatever it does, and another is opened."""
        fresh = self.context.new_page()
        self.page.close()
        self.page = fresh
        self.open(fresh)

    def both(self) -> None:
        """A second tab opens the sheet, and both send what waits at once."""
        second = self.context.new_page()
        self.open(second)
        for page in (self.page, second):
            if page.locator("#written-down").count():  # the nameless page opens the sheet anew instead
                page.evaluate("dispatchEvent(new Event('online'))")
        second.close()

    def end_session(self) -> None:
        Session.objects.all().delete()
        if not self.offline:
            sign_in(self.context, self.ward.nurse, self.address)
            self.open(self.page)
