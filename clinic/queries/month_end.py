"""A month's end: what is open, each one step from its mend, and what has been carried by name (H3)."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date

from clinic.models import Animal, House
from clinic.queries.month_end_items import Item, month_end_items
from config import home
from config.charts.drawing import written
from config.days import day_year
from ledger.queries import month_end as books
from ledger.queries import periods
from ledger.queries.month_end import CarriedLine, OpenItems
from ledger.queries.periods import ClosingLine


@dataclass(frozen=True, kw_only=True)
class UnpaidRow:
    """One animal whose care nobody has paid, decided or carried by name (D5)."""

    animal_id: int
    name: str
    species: str
    amount_minor: int
    oldest_on: date
    lines: int
    thing: str
    carried: CarriedLine | None


@dataclass(frozen=True, kw_only=True)
class MonthEnd:
    from_on: date
    through_on: date
    title: str
    is_over: bool
    items: tuple[Item, ...]
    unpaid: tuple[UnpaidRow, ...]
    closings: tuple[ClosingLine, ...]

    @property
    def open(self) -> int:
        return sum(item.is_open for item in self.items)

    @property
    def undecided(self) -> int:
        return sum(row.carried is None for row in self.unpaid)

    @property
    def unpaid_minor(self) -> int:
        return sum(row.amount_minor for row in self.unpaid)

    @property
    def may_close(self) -> bool:
        return self.is_over and not self.undecided

    @property
    def choices(self) -> tuple[tuple[str, str], ...]:
        """What can be carried, each with its words, care first."""
        digits = home.digits()
        care = [
            (row.thing, f"{row.name}: {written(row.amount_minor, digits)} nobody has paid")
            for row in self.unpaid
            if row.carried is None
        ]
        others = [(item.thing, f"{item.count:,} {item.words}") for item in self.items if item.is_open and item.thing]
        return (*care, *others)

    @property
    def not_ready(self) -> str:
        """What the closing carries, in one line that is kept with it."""
        told = [f"{item.count} {item.words}" for item in self.items if not item.is_done]
        return f"Carried: {'; '.join(told)}."[:500] if told else ""


def title_of(first: date | None, last: date) -> str:
    """Name a period: a month by its name, anything else by its days.

    >>> title_of(date(2026, 10, 1), date(2026, 10, 31)), title_of(date(2026, 10, 7), date(2026, 10, 31))
    ('October 2026', 'October 7 to October 31, 2026')
    """
    whole = last.day == monthrange(last.year, last.month)[1]
    if first is None or (whole and first == last.replace(day=1)):
        return f"{last:%B %Y}"
    begun = f"{first:%B} {first.day}" + ("" if first.year == last.year else f", {first.year}")
    return f"{begun} to {day_year(last)}"


def month_end(*, today: date, house: House, through_on: date | None = None) -> MonthEnd | None:
    """Return the month to close next, or None as long as nothing is in the books."""
    period = books.next_period(today=today)
    if period is None:
        return None
    first, last = period[0], max(through_on or period[1], period[0])
    found = books.open_items(from_on=first, through_on=last)
    return MonthEnd(
        from_on=first,
        through_on=last,
        title=title_of(first, last),
        is_over=last < today,
        items=month_end_items(found, first=first, house=house),
        unpaid=_unpaid(found),
        closings=periods.closings(),
    )


def _unpaid(found: OpenItems) -> tuple[UnpaidRow, ...]:
    keys = [row.animal.subject_key for row in found.unpaid]
    animals = {animal.key: animal for animal in Animal.objects.filter(key__in=keys)}
    return tuple(
        UnpaidRow(
            animal_id=animals[row.animal.subject_key].pk,
            name=animals[row.animal.subject_key].name or animals[row.animal.subject_key].number,
            species=animals[row.animal.subject_key].species,
            amount_minor=row.animal.amount_minor,
            oldest_on=row.animal.oldest_on,
            lines=row.animal.lines,
            thing=f"care {row.animal.subject_key}",
            carried=row.carried,
        )
        for row in found.unpaid
        if row.animal.subject_key in animals
    )
