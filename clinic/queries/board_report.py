"""A month or a year for the manager and the board: one page of pictures, then the tables of the single reports."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import House, Partner
from clinic.queries import board_pictures, cost_report, finished_paths, follow_ups, ward_in_numbers
from clinic.queries.board_pictures import Pictures
from clinic.queries.cost_report import CostReport
from clinic.queries.finished_paths import FinishedLine
from clinic.queries.follow_ups import FollowUpResults
from clinic.queries.paper_head import Headed, paper_head
from clinic.queries.ward_in_numbers import WardInNumbers
from config.days import day_year
from ledger.queries import functional_expenses, related_party, reports, roll_forward, running_money, unpaid_care
from ledger.queries.functional_expenses import FunctionalExpenses
from ledger.queries.related_party import RelatedParty
from ledger.queries.reports import Scope
from ledger.queries.roll_forward import RollForward


@dataclass(frozen=True, kw_only=True)
class UnpaidLine:
    words: str
    animals: int
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class BoardReport(Headed):
    """Money by book date as of an entry, care by its day. `seen_on` is the last day of the period that has come."""

    scope: Scope
    seen_on: date
    pictures: Pictures
    came_minor: int
    went_minor: int
    roll: RollForward
    expenses: FunctionalExpenses
    related: RelatedParty
    costs: CostReport
    ward: WardInNumbers
    follow_ups: FollowUpResults
    paths: tuple[FinishedLine, ...]
    unpaid: tuple[UnpaidLine, ...]

    @property
    def period(self) -> str:
        return f"{day_year(self.scope.from_on)} to {day_year(self.scope.to_on)}"

    @property
    def as_of_words(self) -> str:
        return f"{self.scope.as_of:,}"

    @property
    def runner(self) -> str:
        return f"{self.holder}, report to the board"

    @property
    def unpaid_minor(self) -> int:
        return sum(line.amount_minor for line in self.unpaid)

    @property
    def apart_minor(self) -> int:
        """What came in less what went out, without its sign."""
        return abs(self.came_minor - self.went_minor)


def board_report(*, from_on: date, to_on: date, today: date, house: House) -> BoardReport:
    """Return the report of a period, as of the last entry."""
    scope = reports.scope(from_on=from_on, to_on=to_on)
    head, seen_on = paper_head(house), min(to_on, today)
    running = running_money.running_money(scope=scope)
    roll = roll_forward.roll_forward(scope=scope)
    ward = ward_in_numbers.ward_in_numbers(first=from_on, last=to_on, today=today)
    costs = cost_report.cost_report(from_on=from_on, to_on=to_on)
    return BoardReport(
        head=head,
        scope=scope,
        seen_on=seen_on,
        pictures=board_pictures.pictures(
            running=running, roll=roll, given=costs.together, first=from_on, last=seen_on, currency=head.currency
        ),
        came_minor=running.came_minor,
        went_minor=running.went_minor,
        roll=roll,
        expenses=functional_expenses.functional_expenses(scope=scope),
        related=related_party.related_party(scope=scope),
        costs=costs,
        ward=ward,
        follow_ups=follow_ups.follow_up_results(from_on=from_on, until_on=seen_on),
        paths=finished_paths.ended_between(first=from_on, last=to_on),
        unpaid=_unpaid(seen_on),
    )


def _unpaid(on: date) -> tuple[UnpaidLine, ...]:
    """Care that nobody has paid by now, of days until the end of the period, by partner."""
    found = unpaid_care.unpaid_animals(until_on=on)
    names = dict(Partner.objects.values_list("key", "name"))
    sums: dict[str, tuple[int, int]] = {}
    for one in found:
        animals, minor = sums.get(one.party_key, (0, 0))
        sums[one.party_key] = (animals + 1, minor + one.amount_minor)
    lines = [
        UnpaidLine(words=names.get(key, cost_report.NO_PARTNER), animals=animals, amount_minor=minor)
        for key, (animals, minor) in sums.items()
    ]
    return tuple(sorted(lines, key=lambda line: -line.amount_minor))
