"""The ward in each of its states: axe finds nothing, nothing scrolls sideways, targets are large, focus is seen.

WCAG 2.2 A and AA through axe with target-size on; reflow at 320 px (1.4.10), letters twice as large (1.4.4), a focus
that is visible and not hidden (2.4.7, 2.4.11): published, seen in its own text. 44 px for the ward: our own measure.
"""

import uuid

import pytest

from clinic.actions import sign_off
from clinic.models import Animal, CareItem, Observation
from tests.browser.axe import findings, sideways
from tests.clinic import make

pytestmark = pytest.mark.django_db(transaction=True)

SHEET = "/ward/2026-10-14/"
LONG = "Maximiliana-Theodora of the Lower Larkweir Mill-Meadow"
LEAST = 44
CONTROL = "document.activeElement.matches('button, a, summary') ? document.activeElement.textContent : ''"


@pytest.fixture
def clinic(settings):
    settings.AS_OF = "2026-10-14"
    return make.open_clinic()


def fill(clinic, name: str = "Bracken"):
    animal = clinic.admit(name).animal
    clinic.order(animal, clinic.dressing, ["midday"])
    clinic.order(animal, clinic.tablets, ["morning", "midday", "evening"])
    clinic.order(animal, clinic.surgery, ["night"])
    return animal


def empty(clinic, page) -> None:
    page.goto(SHEET)


def filled(clinic, page) -> None:
    clinic.give(fill(clinic), clinic.tablets, on=make.TODAY)
    page.goto(SHEET)


def long_names(clinic, page) -> None:
    animal = fill(clinic, LONG)
    Animal.objects.filter(pk=animal.pk).update(about=f"{LONG}, found at the weir", warning=f"Bites. {LONG}")
    page.goto(SHEET)


def details_and_question(clinic, page) -> None:
    filled(clinic, page)
    page.get_by_role("link", name="More").click()
    page.locator(".more ol.log").wait_for()
    page.locator("summary", has_text="Amputation").click()


def refused(clinic, page) -> None:
    details_and_question(clinic, page)
    page.get_by_label("What else was given").select_option(label="Padded dressing (dressing)")
    page.get_by_label("How many").fill("-3")
    page.get_by_role("button", name="Write it down").click()
    page.locator("[data-first-error]").wait_for()


def waiting(clinic, page) -> None:
    details_and_question(clinic, page)
    page.context.set_offline(True)
    page.get_by_label("In words").fill("Toes warm.")
    page.get_by_role("button", name="Keep the note").click()
    page.locator(".kit.due, .kit.over").first.click()
    page.get_by_text("2 entries are written down here.").wait_for()


def signed(clinic, page) -> None:
    fill(clinic)
    clinic.see_all(make.TODAY)
    sign_off.sign_unread(key=uuid.uuid4(), on=make.TODAY, by=clinic.manager, today=make.TODAY, at=make.AT)
    page.goto(SHEET)


def missed_days(clinic, page) -> None:
    animal = clinic.admit(LONG).animal
    clinic.order(animal, clinic.tablets, ["morning", "evening"], starts_on=make.DAY)
    page.goto("/ward/2026-10-13/missed/")
    page.locator("input[name='given']").first.check()
    page.get_by_role("button", name="Write down what is ticked").click()
    page.locator("[data-first-error]").wait_for()


def code(clinic, page) -> None:
    page.goto("/tablets/code/")
    page.get_by_label("Your code").fill("1234")
    page.get_by_role("button", name="Keep this code").click()
    page.locator("[data-first-error]").wait_for()


STATES = [empty, filled, long_names, details_and_question, refused, waiting, signed, missed_days, code]


@pytest.mark.parametrize("state", STATES)
def test_axe_finds_nothing_and_targets_are_large(open_page, clinic, state):
    page = open_page(clinic.nurse, width=1180, height=820, touch=True, bypass_csp=True)
    state(clinic, page)
    page.context.set_offline(False)

    assert findings(page) == []
    sizes = page.evaluate(
        """() => [...document.querySelectorAll(
            ".kit:not(.signed), .plus, .btn, .min, main input:not([type=hidden], [type=checkbox]), main select")]
        .map((one) => [one.textContent.trim().slice(0, 40), one.getBoundingClientRect()])
        .filter(([, box]) => box.width > 0)
        .map(([words, box]) => [words, Math.round(box.width), Math.round(box.height)])"""
    )
    assert [size for size in sizes if min(size[1:]) < LEAST] == []


@pytest.mark.parametrize("state", STATES)
def test_nothing_scrolls_sideways_at_320_px_and_with_letters_twice_as_large(open_page, clinic, state):
    page = open_page(clinic.nurse, width=320, height=740, bypass_csp=True)
    state(clinic, page)
    assert sideways(page) == []

    for width in (1280, 640):
        page.set_viewport_size({"width": width, "height": 800})
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert sideways(page) == [], width


def test_each_control_of_the_round_shows_its_focus_and_stands_in_sight(open_page, clinic):
    page = open_page(clinic.nurse, width=1180, height=820, bypass_csp=True)
    details_and_question(clinic, page)
    page.evaluate("document.getElementById('main').focus()")

    seen = []
    for _ in range(40):
        page.keyboard.press("Tab")
        at = page.evaluate(
            """() => {
                const one = document.activeElement, style = getComputedStyle(one), box = one.getBoundingClientRect();
                const x = box.left + box.width / 2, y = box.top + box.height / 2;
                const top = document.elementFromPoint(x, y);
                return { words: one.textContent.trim().slice(0, 30) || one.id, inside: Boolean(one.closest("main")),
                    ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
                    sight: Boolean(top) && (one.contains(top) || top.contains(one)) };
            }"""
        )
        if not at["inside"]:
            break
        seen.append(at)
    assert len(seen) > 15
    assert [at for at in seen if not (at["ring"] and at["sight"])] == []


def test_the_keyboard_alone_writes_all_that_a_finger_can(open_page, clinic):
    """Tick, ask and answer early, one more, open, tell how it eats, note, take back: by Tab, Space and Enter alone."""
    page = open_page(clinic.nurse, width=1180, height=820)
    animal = clinic.admit().animal
    clinic.order(animal, clinic.dressing, ["midday", "evening"])
    page.goto(SHEET)

    def press(words: str, key: str = "Enter") -> None:
        for _ in range(80):
            page.keyboard.press("Tab")
            if words in page.evaluate(CONTROL):
                return page.keyboard.press(key)
        raise AssertionError(f"Tab does not reach {words}")

    press("Padded dressing for Bracken", "Space")
    page.get_by_text("1 of 2").first.wait_for()
    page.evaluate("document.activeElement.blur()")
    press("Padded dressing for Bracken")
    press("Given early")
    page.get_by_text("2 of 2").first.wait_for()
    page.evaluate("document.activeElement.blur()")
    press("+ 1")
    page.get_by_text("1 more").first.wait_for()
    press("More")
    page.locator(".more ol.log").wait_for()
    press("Eats all")
    page.locator(".log", has_text="eats all of it").wait_for()
    page.evaluate("document.activeElement.blur()")
    press("Undo")
    page.locator(".log", has_text="taken back").wait_for()

    assert CareItem.objects.filter(undone_at=None).count() == 2
    assert Observation.objects.get().words == "eats all of it"
    assert page.complaints == []


def test_with_scripts_off_the_sheet_takes_all_the_same(open_page, clinic):
    page = open_page(clinic.nurse, width=1180, height=820, scripts=False)
    animal = clinic.admit().animal
    clinic.order(animal, clinic.dressing, ["midday", "evening"])
    page.goto(SHEET)

    page.get_by_role("button", name="Everything as ordered: 1 tick").click()
    page.get_by_text("1 of 2").first.wait_for()
    page.locator("summary", has_text="Padded dressing").click()
    page.get_by_role("button", name="Given early").click()
    page.get_by_text("2 of 2").first.wait_for()
    page.get_by_role("button", name="+ 1").click()
    page.get_by_text("1 more").first.wait_for()
    page.get_by_role("link", name="More").click()
    page.get_by_role("button", name="Eats some").click()
    page.get_by_role("link", name="More").click()
    page.get_by_label("In words").fill("Toes warm.")
    page.get_by_role("button", name="Keep the note").click()
    page.get_by_role("button", name="All 1 seen").click()
    page.get_by_text("All seen").first.wait_for()

    assert CareItem.objects.count() == 3
    assert sorted(Observation.objects.values_list("words", flat=True)) == ["Toes warm.", "eats some of it"]
