"""A litter on the ward sheet of a tablet: one row, one tap for all, and rows of their own after the split."""

import uuid
from datetime import UTC, date, datetime

import pytest

from clinic import models as clinic
from clinic.actions import groups
from ledger.audit import audit
from tests.clinic import make

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TODAY = date(2026, 10, 14)


def test_one_tap_gives_it_to_all_and_the_split_gives_each_its_row(open_page, settings):
    settings.AS_OF = str(TODAY)
    house = make.open_clinic()
    willa = house.admit("Willa", species="cat").animal
    by = {"by": house.nurse, "at": datetime(2026, 10, 14, 7, tzinfo=UTC)}
    young = {"names": ["Moss", "Fern"], "born_on": TODAY, "level": house.standard}
    litter = groups.admit_young(key=uuid.uuid4(), mother=willa, **young, today=TODAY, **by)
    rounds = ["morning", "midday", "evening", "night"]
    ordered = {"service": house.dressing, "rounds": rounds, "starts_on": TODAY}
    groups.order(key=uuid.uuid4(), group=litter, on=TODAY, **ordered, **by)
    page = open_page(house.nurse, width=1180, height=820, touch=True)
    page.goto("/ward/2026-10-14/")

    row = page.get_by_role("article")
    assert row.count() == 1
    assert row.get_by_role("heading").inner_text() == "Willa and her young"
    row.get_by_role("button", name="for all 3").tap()
    row.get_by_text("1 of 4").wait_for()
    assert clinic.CareItem.objects.count() == 3

    page.goto(f"/animals/{willa.pk}/")
    page.get_by_role("button", name="Split Willa and her young").tap()
    page.get_by_role("link", name="Make a group").wait_for()
    page.goto("/ward/2026-10-14/")
    assert page.get_by_role("article").count() == 3
    assert page.get_by_text("1 of 4").count() == 3
    assert page.complaints == []
    assert list(audit().findings) == []
