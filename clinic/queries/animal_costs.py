"""What one animal has cost: by day, by kind and by payer in the three figures, directly and with what all share."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from clinic.models import Animal, CareItem, House, Service
from clinic.queries import shared_costs
from clinic.queries.care_kinds import EXPENSE
from clinic.queries.shared_costs import Rates
from clinic.queries.unsigned_care import UnsignedLine, unsigned_care
from config import charts
from ledger.formulas import money
from ledger.queries import charges, holder
from ledger.queries.charges import Charges, PayerLine


@dataclass(frozen=True)
class FigureLine:
    """The three figures under one heading; `shared_minor` is what all share, on top of the cost, charged to nobody."""

    words: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    shared_minor: int = 0
    on: date | None = None

    @property
    def full_minor(self) -> int:
        return self.cost_minor + self.shared_minor


@dataclass(frozen=True)
class MonthLine:
    sums: FigureLine
    days: tuple[FigureLine, ...]


@dataclass(frozen=True)
class AnimalCosts:
    animal_id: int
    name: str
    number: str
    species: str
    months: tuple[MonthLine, ...]  # the newest first
    kinds: tuple[FigureLine, ...]
    payers: tuple[PayerLine, ...]
    together: FigureLine
    given_minor: int
    waiting: FigureLine  # not signed off, in none of the others
    days: int
    boarding_days: int
    theater_minutes: int
    boarding_shared_minor: int
    theater_shared_minor: int
    has_rates: bool
    per_day: FigureLine
    chart: charts.Chart | None


def animal_costs(*, animal: Animal, on: date, house: House) -> AnimalCosts:
    """Return what stands signed off in the books, and what the animal carries of what all share.

    A boarding day and a use of the theater are each rounded once, so that every cut of them gives the same sum.
    """
    currency = holder.holder().currency
    signed = charges.of_subject(subject_key=animal.key)
    waiting = unsigned_care(animal=animal, since=house.opening_on, until=on, currency=currency)
    given = _given(signed)
    boarded = sorted(day for (day, kind), quantity in given.items() if kind == "boarding" and quantity)
    operated = _operated(animal, given)
    rates = shared_costs.rates(until=max([on, *boarded, *(day for day, _ in operated)]))
    boarding = _by_day(((day, Fraction(1), "boarding_day") for day in boarded), rates, currency)
    theater = _by_day(((day, minutes, "theater_minute") for day, minutes in operated), rates, currency)
    days = _days(signed, boarding, theater)
    together = _sum("Together", days)
    cared = sum(bool(day.usual_minor or day.cost_minor or day.shared_minor) for day in days)
    return AnimalCosts(
        animal_id=animal.pk,
        name=animal.name or animal.number,
        number=animal.number,
        species=animal.species,
        months=_months(days),
        kinds=_kinds(signed, sum(boarding.values()), sum(theater.values())),
        payers=signed.by_payer,
        together=together,
        given_minor=signed.given_minor,
        waiting=_waiting(waiting),
        days=cared,
        boarding_days=len(boarded),
        theater_minutes=int(sum(minutes for _, minutes in operated)),
        boarding_shared_minor=sum(boarding.values()),
        theater_shared_minor=sum(theater.values()),
        has_rates=bool(rates),
        per_day=_per_day(together, cared),
        chart=_chart(animal, days, money.minor_digits(currency), bool(rates)) if days else None,
    )


def _given(signed: Charges) -> dict[tuple[date, str], Decimal]:
    """Return how much of each kind of care stands in the books for each day, corrections taken off."""
    found: dict[tuple[date, str], Decimal] = defaultdict(Decimal)
    for line in signed.lines:
        found[line.care_on, line.kind] += line.quantity
    return found


def _operated(animal: Animal, given: dict[tuple[date, str], Decimal]) -> list[tuple[date, Fraction]]:
    """Return the theater minutes of what stands in the books: as written down on the day, or as planned."""
    items = CareItem.objects.filter(animal=animal, signing__isnull=False, undone_at=None).order_by("on", "pk")
    used = items.values_list("on", "service__kind", "quantity", "service__room_minutes", "procedure__room_minutes")
    minutes = [
        (day, Fraction(written) if written is not None else Fraction(quantity) * planned)
        for day, kind, quantity, planned, written in used
        if given.get((day, EXPENSE[Service.Kind(kind)]))
    ]
    return [(day, each) for day, each in minutes if each]


def _by_day(uses: Iterable[tuple[date, Fraction, str]], rates: Sequence[Rates], currency: str) -> dict[date, int]:
    starts = [one.starts_on for one in rates]
    found: dict[date, int] = defaultdict(int)
    for day, units, name in uses:
        place = bisect_right(starts, day)
        if place:
            found[day] += money.to_minor(units * getattr(rates[place - 1], name), currency)
    return found


def _days(signed: Charges, boarding: dict[date, int], theater: dict[date, int]) -> list[FigureLine]:
    by_day = {day.on: day for day in signed.by_day if day.on}
    days = []
    for on in sorted({*by_day, *boarding, *theater}):
        found = by_day.get(on)
        figures = (found.cost_minor, found.usual_minor, found.asked_minor) if found else (0, 0, 0)
        days.append(FigureLine("", *figures, boarding.get(on, 0) + theater.get(on, 0), on))
    return days


def _sum(words: str, lines: Iterable[FigureLine]) -> FigureLine:
    lines = list(lines)
    names = ("cost_minor", "usual_minor", "asked_minor", "shared_minor")
    return FigureLine(words, *(sum(getattr(line, name) for line in lines) for name in names))


def _months(days: Sequence[FigureLine]) -> tuple[MonthLine, ...]:
    found: dict[str, list[FigureLine]] = {}
    for day in days:
        if day.on:
            found.setdefault(f"{day.on:%B %Y}", []).append(day)
    return tuple(MonthLine(_sum(words, month), tuple(month)) for words, month in reversed(found.items()))


def _kinds(signed: Charges, boarding: int, theater: int) -> tuple[FigureLine, ...]:
    """Boarding carries what its days carry, and procedures what the theater's minutes do."""
    shared = {"boarding": boarding, "procedures": theater}
    lines = [
        FigureLine(kind.label, kind.cost_minor, kind.usual_minor, kind.asked_minor, shared.pop(kind.code, 0))
        for kind in signed.by_kind
    ]
    return (
        *lines,
        *(FigureLine(f"{code.capitalize()}, shared", 0, 0, 0, minor) for code, minor in shared.items() if minor),
    )


def _waiting(lines: Sequence[UnsignedLine]) -> FigureLine:
    return FigureLine(
        "Not signed off yet",
        sum(line.cost_minor for line in lines),
        sum(line.usual_minor for line in lines),
        sum(line.asked_minor for line in lines),
    )


def _per_day(together: FigureLine, days: int) -> FigureLine:
    each = [
        money.half_up(Fraction(minor, days)) if days else 0
        for minor in (together.cost_minor, together.usual_minor, together.asked_minor, together.full_minor)
    ]
    return FigureLine("Each day of care", *each[:3], each[3] - each[0])


def _chart(animal: Animal, days: Sequence[FigureLine], digits: int, full: bool) -> charts.Chart:
    """Draw what it came to, day after day: the full cost, the direct cost, and what was asked."""
    ways = [("direct cost", "actual", "cost_minor"), ("asked", "possible", "asked_minor")]
    ways = [("full cost", "thin", "full_minor"), *ways] if full else ways
    lines = [charts.Line(words=words, points=_running(days, name), kind=kind) for words, kind, name in ways]
    name = animal.name or animal.number
    return charts.steps(
        name="running-cost",
        title=f"What {name} has come to",
        desc=f"Running sums over {len(days)} days of care of {name}.",
        lines=lines,
        digits=digits,
        full=True,
    )


def _running(days: Sequence[FigureLine], name: str) -> tuple[tuple[date, int], ...]:
    so_far, points = 0, []
    for day in days:
        so_far += getattr(day, name)
        if day.on:
            points.append((day.on, so_far))
    return tuple(points)
