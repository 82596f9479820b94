"""How long animals stay, by species: half have left by day so many, and so many of a hundred are still here after."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from clinic.formulas import kaplan_meier
from clinic.formulas.kaplan_meier import Curve
from clinic.models import Stay

AFTER = (7, 14, 30, 60, 90)
ENOUGH = 20  # ended stays from which a species has a usual length of its own
FEW = Fraction(1, 10)


@dataclass(frozen=True, kw_only=True)
class StaysOf:
    """The stays of one species; those still open count as such, and shorten nothing."""

    species: str
    curve: Curve
    longest: int  # the days of the longest stay: nothing is known of what comes after it

    @property
    def count(self) -> int:
        return self.curve.cases

    @property
    def open(self) -> int:
        return self.curve.open

    @property
    def median_days(self) -> int | None:
        return self.curve.median

    @property
    def still(self) -> dict[int, Fraction]:
        """The share still in care after so many days, the leavings of that day taken out."""
        return {days: self.curve.still_at(days) for days in AFTER}

    @property
    def in_100(self) -> tuple[int | None, ...]:
        """Of a hundred, those still in care after so many days; None where no stay has shown it yet."""
        return tuple(
            round(share * 100) if days <= self.longest or not share else None for days, share in self.still.items()
        )

    @property
    def usual_days(self) -> int | None:
        """The day by which nine in ten have left; None with few stays, or where it was never reached."""
        if self.count - self.open < ENOUGH:
            return None
        return next((drop.time for drop in self.curve.drops if drop.still <= FEW), None)


@dataclass(frozen=True, kw_only=True)
class LengthOfStay:
    as_of: date
    species: tuple[StaysOf, ...]  # the most stays first
    together: StaysOf

    def usual_days(self, species: str) -> int | None:
        """Return a species' own usual length where there are enough stays, else that of all together."""
        own = next((stays for stays in self.species if stays.species == species), None)
        return (own and own.usual_days) or self.together.usual_days


def length_of_stay(*, as_of: date) -> LengthOfStay:
    """Return how long stays lasted as seen on a day: what began by then, open where it had not ended by then."""
    cases: dict[str, list[tuple[int, bool]]] = defaultdict(list)
    stays = Stay.objects.filter(admitted_on__lte=as_of)
    for species, came, left in stays.values_list("animal__species", "admitted_on", "discharged_on"):
        ended = left is not None and left <= as_of
        cases[species].append((((left if ended else as_of) - came).days, ended))
    found = [_stays_of(species, known) for species, known in cases.items()]
    every = [case for known in cases.values() for case in known]
    return LengthOfStay(
        as_of=as_of,
        species=tuple(sorted(found, key=lambda stays: (-stays.count, stays.species))),
        together=_stays_of("", every),
    )


def _stays_of(species: str, cases: list[tuple[int, bool]]) -> StaysOf:
    longest = max((days for days, _ in cases), default=0)
    return StaysOf(species=species, curve=kaplan_meier.curve(cases=cases), longest=longest)
