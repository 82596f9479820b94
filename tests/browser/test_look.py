"""Every part and the pages at the door in a real browser: axe, reflow, large text, keyboard, the content policy."""

import pytest

from clinic.actions import invitations, set_up
from clinic.models import PersonChange
from config.roles import Role
from tests.browser.axe import findings, sideways
from tests.clinic.door import AT, house, partner, person

pytestmark = pytest.mark.django_db(transaction=True)

PAGES = ["/parts/", "/people/", "/people/add/", "person", "/nowhere/"]


@pytest.fixture
def amos(settings, live_server):
    settings.AS_OF = "2026-10-14"
    house()
    return person("amos", Role.MANAGER, Role.VET, name="Amos Yelland")


@pytest.fixture
def address(amos, settings):
    def of(page: str) -> str:
        settings.DEBUG = page == "/parts/"  # shown only then
        if page != "person":
            return page
        contact = person("ottilie", Role.PARTNER, name="Ottilie Brand", partner=partner())
        return f"/people/{contact.pk}/"

    return of


@pytest.mark.parametrize("width", [1280, 1180, 360])
@pytest.mark.parametrize("where", PAGES)
def test_axe_finds_nothing(open_page, amos, address, where, width):
    page = open_page(amos, width=width)

    page.goto(address(where))

    assert findings(page) == []
    assert [said for said in page.complaints if "404" not in said] == []


@pytest.mark.parametrize("width", [768, 360, 320])
@pytest.mark.parametrize("where", PAGES)
def test_nothing_scrolls_sideways(open_page, amos, address, where, width):
    page = open_page(amos, width=width)

    page.goto(address(where))

    assert sideways(page) == []


@pytest.mark.parametrize("where", PAGES)
def test_letters_twice_as_large_still_fit(open_page, amos, address, where):
    page = open_page(amos, width=1280, bypass_csp=True)

    page.goto(address(where))
    page.add_style_tag(content="html { font-size: 200%; }")

    assert sideways(page) == []


@pytest.mark.parametrize("width", [1280, 360, 320])
def test_the_door_is_open_to_everybody(open_page, amos, width):
    link = f"/invitation/{invitations.invite(person=amos, by=amos, at=PersonChange.objects.latest('at').at)}/"
    for where in ("/sign-in/", link, "/invitation/spent/"):
        page = open_page(width=width)

        page.goto(where)

        assert findings(page) == [], where
        assert sideways(page) == [], where


@pytest.mark.parametrize("width", [1280, 320])
def test_the_set_up_page_is_open_to_everybody(open_page, width):
    set_up.offer_code(at=AT)
    page = open_page(width=width)

    page.goto("/set-up/")

    assert findings(page) == []
    assert sideways(page) == []


def test_the_ward_is_tapped_with_wet_hands(open_page, amos, settings):
    settings.DEBUG = True
    page = open_page(amos, width=360)
    page.goto("/parts/")

    sizes = page.evaluate(
        """() => [...document.querySelectorAll("#ward :is(button, .btn)")].map((e) => e.getBoundingClientRect())
        .map((box) => [Math.round(box.width), Math.round(box.height)])"""
    )

    assert len(sizes) > 10
    assert [size for size in sizes if min(size) < 44] == []


def test_a_refused_form_brings_the_focus_to_what_must_be_mended(open_page, amos):
    page = open_page(amos)
    page.goto("/people/add/")

    page.get_by_label("Name", exact=True).fill("Another Amos")
    page.get_by_role("button", name="Add the person").click()
    page.wait_for_selector("[data-first-error]")

    assert "things to mend" in page.locator(":focus").inner_text()
    page.get_by_role("link", name="Initials: This field is required.").click()
    assert page.evaluate("document.activeElement.id") == "id_initials"
    assert page.get_by_label("Name", exact=True).input_value() == "Another Amos"


def test_the_keyboard_reaches_the_page_past_the_masthead(open_page, amos):
    page = open_page(amos)
    page.goto("/people/")

    page.keyboard.press("Tab")
    page.keyboard.press("Enter")

    assert page.evaluate("document.activeElement.id") == "main"


def test_a_double_click_sends_a_form_once(open_page, amos):
    page = open_page(amos)
    sent = []
    page.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    page.goto(f"/people/{amos.pk}/")

    page.get_by_role("button", name="Make an invitation link").dblclick()
    page.wait_for_selector("#link")

    assert len(sent) == 1


def test_a_manager_invites_somebody_who_chooses_a_password_and_comes_in(open_page, amos):
    page = open_page(amos)
    page.goto("/people/add/")
    page.get_by_label("Name", exact=True).fill("Noor Halvorsen")
    page.get_by_label("Initials").fill("NH")
    page.get_by_label("Sign-in name").fill("noor")
    page.get_by_label("vet", exact=True).check()
    page.get_by_role("button", name="Add the person").click()
    page.get_by_role("button", name="Make an invitation link").click()
    link = page.locator("#link").inner_text()

    guest = open_page()
    guest.goto(link)
    guest.get_by_label("Your password").fill("four horses and a hen")
    guest.get_by_role("button", name="Show what I type").click()
    shown = guest.get_by_label("Your password").get_attribute("type")
    guest.get_by_role("button", name="Keep it and sign in").click()
    guest.wait_for_url("**/")

    assert shown == "text"
    assert "Noor Halvorsen" in guest.get_by_role("banner").inner_text()
