"""The demo from its first day to today, in order, in one transaction."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from django.db import connection

from clinic.actions import sign_off
from clinic.actions.build_demo import diary as diaries
from clinic.actions.build_demo.bank import bring_statement
from clinic.actions.build_demo.money import Money
from clinic.actions.build_demo.money_out import MoneyOut
from clinic.actions.build_demo.paths import earlier_paths
from clinic.actions.build_demo.setting import set_the_scene
from clinic.actions.build_demo.shelf import Shelf
from clinic.actions.build_demo.ward import Ward
from clinic.models import House
from config.refusal import Refusal

DEMO_PASSWORD = "tally-of-five"  # noqa: S105  printed for everybody who starts the demo


class HouseStands(Refusal):
    """There is a clinic in this database already."""


def build(
    *, folder: Path, as_of: date, until_round: str = "morning", tell: Callable[[int, int], None] = lambda done, of: None
) -> int:
    """Live the diary in `folder` up to a round of `as_of` that is just begun; return how many days were signed off.

    :raises HouseStands: when the database holds a clinic already.
    """
    if House.objects.exists():
        raise HouseStands("This database holds a clinic already. The demo is built into an empty one only.")
    diary = diaries.read(folder, as_of=as_of)
    scene = set_the_scene(diary, folder=folder, password=DEMO_PASSWORD)
    earlier_paths(diary, scene)
    money, ward = Money(diary, scene), Ward(diary, scene, folder=folder)
    other, shelf = MoneyOut(diary, scene, folder=folder), Shelf(diary, scene)
    signed, days = 0, list(diary.days())
    for done, day in enumerate(days, start=1):
        money.live(day)
        other.live(day)
        before = days[done - 2]
        if done > 1 and day < as_of and before in ward.to_sign:
            _sign(diary, scene, before, day)
            signed += 1
        money.close_month(day)
        shelf.live(day)
        ward.live(day, until_round=until_round if day == as_of else "")
        tell(done, len(days))
    bring_statement(diary, scene)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # half a year was written at once: the papers that follow must not be planned blindly
    return signed


def _sign(diary, scene, on: date, today: date) -> None:
    """The manager signs yesterday in the morning."""
    sign_off.sign_unread(
        key=diaries.key(f"sign {on}"),
        on=on,
        by=scene.people["amos"],
        today=today,
        at=diary.moment(today, 8, 10),
    )
