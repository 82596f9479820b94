"""An animal admitted from the door on a tablet: how many fields and taps that takes, and what a scanner does."""

import pytest
from PIL import Image

from clinic import models as clinic
from clinic.actions import services
from tests.clinic import make

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TABLET = {"width": 1180, "height": 820, "touch": True}


@pytest.fixture
def door(open_page, settings, tmp_path):
    settings.AS_OF, settings.MEDIA_ROOT = "2026-10-14", tmp_path
    house = make.open_clinic()
    services.add_room(name="Kennels", position=1, places=["A1", "A2"])
    page = open_page(house.nurse, **TABLET)
    page.goto("/")
    page.get_by_role("link", name="Admit an animal").tap()
    return page


def test_partner_number_name_species_chip_and_photo_take_six_fields_and_two_taps(door, tmp_path):
    """The tap that opens the form and the one that sends it; place, level, owner and day are as usual."""
    Image.new("RGB", (1600, 1200), "tan").save(tmp_path / "rusk.jpg")

    door.get_by_label("Name").fill("Rusk")
    door.get_by_label("Species").fill("dog")
    door.get_by_label("Microchip").fill("276098106123456")
    door.get_by_label("Photo").set_input_files(tmp_path / "rusk.jpg")
    door.get_by_label("Rescue partner").select_option("Brindle Yard Rescue")
    door.get_by_label("The partner’s own number").fill("BY-131")
    door.get_by_role("button", name="Admit", exact=True).tap()

    door.get_by_role("heading", name="Rusk").wait_for()
    animal = clinic.Animal.objects.get()
    assert (animal.partner_number, animal.chip, animal.photos.count()) == ("BY-131", "276098106123456", 1)
    assert door.get_by_role("img", name="Rusk").evaluate("one => one.naturalWidth") == 1600
    assert door.complaints == []


def test_a_scanner_that_ends_with_enter_goes_on_and_sends_nothing(door):
    door.get_by_label("Name").fill("Rusk")
    door.get_by_label("Microchip").press_sequentially("276098106123456")
    door.keyboard.press("Enter")

    assert door.evaluate("document.activeElement.name") == "photo"
    assert not clinic.Animal.objects.exists()


def test_a_refused_chip_has_the_focus_and_everything_typed_still_stands(door):
    door.get_by_label("Name").fill("Rusk")
    door.get_by_label("Species").fill("dog")
    door.get_by_label("Microchip").fill("27609810612345")
    door.get_by_role("button", name="Admit", exact=True).tap()

    summary = door.get_by_role("link", name="this one has 14")
    summary.wait_for()
    summary.tap()
    assert door.evaluate("document.activeElement.name") == "chip"
    assert door.get_by_label("Name").input_value() == "Rusk"
