"""The care of an invented past: animals come and go, each day's care is written down, and signed the next morning."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from clinic.actions import animals, care, evenings, sign_off, stays
from clinic.actions.build_demo.diary import Diary
from clinic.actions.build_demo.setting import Scene
from clinic.actions.build_history.chances import Chances
from clinic.models import Stay

FULL = 41  # animals in care on an ordinary day; the house opens with as many
ARRIVALS = ((0, 30), (1, 40), (2, 22), (3, 8))  # a day: some 400 animals a year
NIGHTS = ((2, 18), (5, 18), (12, 20), (30, 18), (60, 14), (150, 12))
SPECIES = (("dog", 46), ("cat", 40), ("rabbit", 8), ("hedgehog", 6))
LEVELS = (("Standard", 60), ("Rest", 20), ("Intensive", 5), ("Small cage", 15))
LEFT_TO = (("adopted", 45), ("partner", 25), ("foster", 22), ("died", 5), ("euthanized", 3))
# Each day, for each animal in care: in so many of a hundred, at most so much at once.
DAILY = (
    ("padded-dressing", 48, 1), ("foam-dressing", 18, 1), ("tablets", 64, 3), ("eye-drops", 15, 2), ("exam", 9, 1),
    ("recheck", 12, 1), ("radiograph", 4, 1), ("blood-panel", 4, 1), ("fluids", 6, 1), ("nurse-minutes", 12, 20),
)  # fmt: skip
OPERATIONS = ("patch-graft", "revise-hock", "amputate-hind", "remove-tail", "wire-jaw", "foot-surgery", "remove-eye")


@dataclass(frozen=True)
class Lodger:
    stay: Stay
    leaves_on: date
    operated_on: date | None


class Ward:
    """Who is in care, and what becomes of them."""

    def __init__(self, diary: Diary, scene: Scene, chances: Chances) -> None:
        self.diary, self.scene, self.chances = diary, scene, chances
        self.lodgers: list[Lodger] = []
        self.came: list[Lodger] = []
        self.left: list[Lodger] = []

    def sign(self, on: date) -> None:
        """Sign a day off the next morning."""
        if self.lodgers:
            today = on + timedelta(days=1)
            at = self.diary.moment(today, 8)
            sign_off.sign_unread(key=self.chances.key(), on=on, by=self.scene.people["amos"], today=today, at=at)

    def live(self, day: date) -> None:
        """Let animals leave and come, write down the day's care, and confirm the evening."""
        self.left = [lodger for lodger in self.lodgers if lodger.leaves_on == day]
        for lodger in self.left:
            self._discharge(lodger, day)
        self.lodgers = [lodger for lodger in self.lodgers if lodger.leaves_on != day]
        arriving = self.chances.weighted(ARRIVALS) + (FULL if day == self.diary.first else 0)
        self.came = [self._admit(day) for _ in range(arriving)]
        self.lodgers += self.came
        facts = [fact for lodger in self.lodgers for fact in self._care(lodger, day)]
        nurse, at = self.scene.people[self.chances.one_of(("pilar", "teo"))], self.diary.moment(day, 17)
        care.record_all(facts=facts, by=nurse, today=day, at=at)
        evenings.confirm(on=day, by=nurse, today=day, at=self.diary.moment(day, 20))

    def _admit(self, day: date) -> Lodger:
        chances, species = self.chances, self.chances.weighted(SPECIES)
        operated = day + timedelta(days=1) if chances.of_hundred(22) else None
        nights = chances.weighted(NIGHTS) + chances.between(0, 3) + 7 * bool(operated)
        stay = animals.admit(
            key=chances.key(),
            name=chances.animal(),
            species=species,
            sex=chances.one_of(("female", "male", "unknown")),
            admitted_on=day,
            level=self.scene.levels[chances.weighted(LEVELS)],
            partner=chances.one_of(list(self.scene.partners.values())) if chances.of_hundred(80) else None,
            by=self.scene.people["pilar"],
            today=day,
            at=self.diary.moment(day, 10),
        )
        return Lodger(stay=stay, leaves_on=day + timedelta(days=nights), operated_on=operated)

    def _discharge(self, lodger: Lodger, day: date) -> None:
        stays.discharge(
            stay=lodger.stay,
            discharged_on=day,
            left_to=self.chances.weighted(LEFT_TO),
            why="",
            by=self.scene.people["noor"],
            today=day,
            at=self.diary.moment(day, 9),
        )

    def _care(self, lodger: Lodger, day: date) -> list[care.Given]:
        given = [
            self._given(lodger, day, code, self.chances.between(1, most))
            for code, percent, most in DAILY
            if self.chances.of_hundred(percent)
        ]
        if lodger.operated_on == day:
            given.append(self._given(lodger, day, self.chances.one_of(OPERATIONS), 1))
        return given

    def _given(self, lodger: Lodger, day: date, code: str, quantity: int) -> care.Given:
        return care.Given(
            key=self.chances.key(),
            animal=lodger.stay.animal,
            on=day,
            service=self.scene.services[code],
            quantity=Decimal(quantity),
        )
