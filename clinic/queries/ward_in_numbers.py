"""The ward in numbers: who came and left in a period, who stays long, and how many minutes a day's care needs."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q

from clinic.formulas import stays as formulas
from clinic.models import Order, Stay
from clinic.queries import in_care
from clinic.queries.length_of_stay import LengthOfStay, length_of_stay
from clinic.queries.occupancy import occupancy
from config import charts


@dataclass(frozen=True, kw_only=True)
class CensusLine:
    """Guarantee of its making: at the start + came = at the end + left."""

    species: str
    start: int
    came: int
    left: int
    end: int


@dataclass(frozen=True, kw_only=True)
class LongStay:
    animal_id: int
    name: str
    species: str
    partner: str
    admitted_on: date
    days: int
    usual_days: int


@dataclass(frozen=True, kw_only=True)
class MinutesLine:
    words: str
    count: int
    minutes: int


@dataclass(frozen=True, kw_only=True)
class WardInNumbers:
    first: date
    last: date
    seen_on: date  # the last day of the period that has come
    census: tuple[CensusLine, ...]
    left_to: tuple[tuple[str, int], ...]
    nights: int
    boarding_days: int
    occupancy: charts.Chart | None
    lengths: LengthOfStay
    long_stays: tuple[LongStay, ...]
    minutes: tuple[MinutesLine, ...]

    @property
    def together(self) -> CensusLine:
        return CensusLine(
            species="Together",
            start=sum(line.start for line in self.census),
            came=sum(line.came for line in self.census),
            left=sum(line.left for line in self.census),
            end=sum(line.end for line in self.census),
        )

    @property
    def all_minutes(self) -> int:
        return sum(line.minutes for line in self.minutes)

    @property
    def hours(self) -> str:
        return f"{self.all_minutes // 60} h {self.all_minutes % 60:02d}"

    @property
    def a_night(self) -> str:
        """The animals of an average night, to one digit after the point."""
        tenths = (20 * self.nights // ((self.seen_on - self.first).days + 1) + 1) // 2
        return f"{tenths // 10}.{tenths % 10}"


def ward_in_numbers(*, first: date, last: date, today: date) -> WardInNumbers:
    """Return the ward's numbers from `first` to `last`, or to today where that comes earlier."""
    seen_on = min(last, today)
    stays = list(
        Stay.objects.filter(admitted_on__lte=seen_on)
        .filter(Q(discharged_on__isnull=True) | Q(discharged_on__gte=first))
        .values_list("animal", "animal__species", "admitted_on", "discharged_on", "left_to")
    )
    lengths = length_of_stay(as_of=seen_on)
    spans: dict[int, list[formulas.Span]] = {}
    for animal, _, came, left, _ in stays:
        spans.setdefault(animal, []).append(formulas.Span(admitted_on=came, discharged_on=left))
    every = [span for own in spans.values() for span in own]
    return WardInNumbers(
        first=first,
        last=last,
        seen_on=seen_on,
        census=_census([(species, came, left) for _, species, came, left, _ in stays], first, seen_on),
        left_to=_left_to([to for _, _, _, left, to in stays if left and left <= seen_on]),
        nights=formulas.nights(spans=every, first=first, last=seen_on),
        boarding_days=sum(formulas.boarding_days(spans=own, first=first, last=seen_on) for own in spans.values()),
        occupancy=occupancy(first=first, last=seen_on - timedelta(days=seen_on == today)),
        lengths=lengths,
        long_stays=long_stays(today=seen_on, lengths=lengths),
        minutes=_minutes(seen_on),
    )


def long_stays(*, today: date, lengths: LengthOfStay) -> tuple[LongStay, ...]:
    """Return the stays that are open longer than nine in ten of their species, the longest first."""
    found, present = [], in_care.on(today)
    usual_days = {species: lengths.usual_days(species) for species in {row.stay.animal.species for row in present}}
    for row in present:
        animal, days = row.stay.animal, (today - row.stay.admitted_on).days
        usual = usual_days[animal.species]
        if usual is not None and days > usual and row.stay.discharged_on is None:
            found.append(
                LongStay(
                    animal_id=animal.pk,
                    name=animal.name or animal.number,
                    species=animal.species,
                    partner=animal.partner.name if animal.partner else "",
                    admitted_on=row.stay.admitted_on,
                    days=days,
                    usual_days=usual,
                )
            )
    return tuple(sorted(found, key=lambda stay: -stay.days))


def _census(stays: list[tuple[str, date, date | None]], first: date, last: date) -> tuple[CensusLine, ...]:
    """Count half-open: who leaves on a day was there at its beginning and is not at its end."""
    start, came, left, end = Counter(), Counter(), Counter(), Counter()
    for species, admitted, discharged in stays:
        start[species] += admitted < first
        came[species] += admitted >= first
        gone = discharged is not None and discharged <= last
        left[species] += gone
        end[species] += not gone
    return tuple(
        CensusLine(species=species, start=start[species], came=came[species], left=left[species], end=end[species])
        for species in sorted(came, key=lambda species: (-(start[species] + came[species]), species))
    )


def _left_to(codes: list[str]) -> tuple[tuple[str, int], ...]:
    words = dict(Stay.LeftTo.choices)
    return tuple((words.get(code, code or "not said"), count) for code, count in Counter(codes).most_common())


def _minutes(on: date) -> tuple[MinutesLine, ...]:
    """Count the standard minutes of a day: each animal's boarding level, and each thing that is ordered for it."""
    found: dict[str, list[int]] = {}
    rows = in_care.on(on, boards_only=True)
    for row in rows:
        if row.level:
            _add(found, f"boarding, {row.level.name}", 1, row.level.service.standard_minutes)
    orders = Order.objects.filter(animal__in=[row.stay.animal_id for row in rows]).select_related("service")
    for order in orders:
        if order.is_due_on(on):
            _add(found, order.service.name, len(order.rounds), order.service.standard_minutes)
    return tuple(MinutesLine(words=words, count=count, minutes=minutes) for words, (count, minutes) in found.items())


def _add(found: dict[str, list[int]], words: str, count: int, minutes: int) -> None:
    kept = found.setdefault(words, [0, 0])
    kept[0] += count
    kept[1] += count * minutes
