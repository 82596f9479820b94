"""What became of one fund's money, for whoever gave it: its budget against what was spent, and the animals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import Animal, House
from clinic.queries.helped_animals import Helped, helped_animals
from clinic.queries.paper_head import Headed, paper_head
from clinic.queries.photos import PaperPhoto, photo_for
from config.days import day_year
from ledger.queries import budgets, fund_roll
from ledger.queries.budgets import Budget
from ledger.queries.fund_care import fund_care
from ledger.queries.fund_roll import RollForward
from ledger.queries.funds import FundLine, fund_lines

PICTURED = 6


@dataclass(frozen=True, kw_only=True)
class Pictured:
    helped: Helped
    photo: PaperPhoto | None


@dataclass(frozen=True, kw_only=True)
class GrantReport(Headed):
    """One fund over a period, by book date. Nothing in it is a cost, and no other donor is named (I6)."""

    fund: FundLine
    roll: RollForward
    budget: Budget
    animals: tuple[Pictured, ...]
    on: date

    @property
    def period(self) -> str:
        return f"{day_year(self.roll.from_on)} to {day_year(self.roll.to_on)}"

    @property
    def on_words(self) -> str:
        return day_year(self.on)

    @property
    def runner(self) -> str:
        return f"{self.fund.name}, {self.period}"

    @property
    def care_minor(self) -> int:
        return sum(one.helped.paid_minor for one in self.animals)

    @property
    def pictured(self) -> tuple[Pictured, ...]:
        """Those with a photo that may be shown; a report for nobody in particular shows no more than six."""
        return tuple(one for one in self.animals if one.photo)[:PICTURED]

    @property
    def closing_minor(self) -> int:
        return self.roll.closing.amounts[-1]

    @property
    def came_minor(self) -> int:
        return self.roll.came_in.amounts[-1]

    @property
    def went_minor(self) -> int:
        return self.roll.went_out.amounts[-1]

    @property
    def opening_minor(self) -> int:
        return self.roll.opening.amounts[-1]


def grant_report(*, fund_id: int, from_on: date, to_on: date, on: date, house: House) -> GrantReport | None:
    """Return a fund's report as of a day, or None where there is no such fund to which people give."""
    fund = next((line for line in fund_lines(id=fund_id)), None)
    if fund is None or fund.restriction_words in ("apart from money", "passes through"):
        return None
    helped = helped_animals(
        paid=fund_care(fund_id=fund_id, from_on=from_on, to_on=to_on), on=min(to_on, on), photos_on=on
    )
    animals = {animal.key: animal for animal in Animal.objects.filter(key__in=helped)}
    return GrantReport(
        head=paper_head(house),
        fund=fund,
        roll=fund_roll.roll_forward(fund_id=fund_id, from_on=from_on, to_on=to_on),
        budget=budgets.budget(fund_id=fund_id),
        animals=tuple(
            Pictured(
                helped=one,
                photo=photo_for(animal=animals[key], use="statement", on=on) if key in animals else None,
            )
            for key, one in helped.items()
        ),
        on=on,
    )
