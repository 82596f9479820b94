"""An invented past from its first day to its last, one transaction for each day."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

from django.db import transaction

from clinic.actions.build_demo import DEMO_PASSWORD
from clinic.actions.build_demo import diary as diaries
from clinic.actions.build_demo.setting import set_the_scene
from clinic.actions.build_history.chances import Chances
from clinic.actions.build_history.money import Money
from clinic.actions.build_history.ward import Ward
from clinic.models import Animal, House
from config.refusal import Refusal
from ledger.queries.books import Count, count


class HouseStands(Refusal):
    """There is a clinic in this database already."""

    def __init__(self) -> None:
        super().__init__(
            "This database holds a clinic already. Nothing was changed. "
            "A past is built into an empty database only: name another one in DATABASE_URL."
        )


@dataclass(frozen=True, kw_only=True)
class Past:
    first: date
    last: date
    animals: int
    books: Count


def build(
    *, folder: Path, days: int, seed: int, as_of: date, tell: Callable[[int, int], None] = lambda done, of: None
) -> Past:
    """Live so many days and then the day `as_of`; people, partners and prices are those of the demo in `folder`.

    The same days, seed and last day give the same animals, gifts and charges; care and money have dice of their own.

    :raises HouseStands: when the database holds a clinic already.
    """
    if House.objects.exists():
        raise HouseStands
    first = as_of - timedelta(days=days)
    diary = diaries.read(folder, as_of=as_of)
    diary = replace(diary, as_of=first - timedelta(days=diary.says["opening"]))
    with transaction.atomic(durable=True):
        scene = set_the_scene(diary, folder=folder, password=DEMO_PASSWORD)
        money, ward = Money(diary, scene, Chances(2 * seed)), Ward(diary, scene, Chances(2 * seed + 1))
    for done in range(days + 1):
        day = first + timedelta(days=done)
        with transaction.atomic(durable=True):
            ward.sign(day - timedelta(days=1))
            ward.live(day)
            money.live(day, ward)
        tell(done + 1, days + 1)
    return Past(first=first, last=as_of, animals=Animal.objects.count(), books=count())
