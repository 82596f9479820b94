"""What came in and went out in a period, in two classes, with the bank's money beside it.

Only a donor's restriction makes money restricted. Expense met from restricted money releases it: it is shown as an
expense without restrictions, and the same amount as released from one class to the other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from ledger.formulas.donated_services import recognized
from ledger.models import Fund
from ledger.models.accounts import BANK, DONATED_SERVICES, KIND_OF, NAME_OF, PROCEDURES, TRANSFERS, Kind
from ledger.queries.reports import Scope, moves
from ledger.queries.sums import Moved, accounts_at, net_assets_at

FREE, RESTRICTED = False, True


@dataclass(frozen=True, kw_only=True)
class ClassLine:
    """One line in the two classes."""

    words: str
    without_minor: int
    with_minor: int

    @property
    def together_minor(self) -> int:
        return self.without_minor + self.with_minor


@dataclass(frozen=True, kw_only=True)
class CashLine:
    words: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class Cash:
    """The bank: what it held, what came in and went out by what for, what it holds."""

    opening_minor: int
    came: tuple[CashLine, ...]
    went: tuple[CashLine, ...]

    @property
    def came_minor(self) -> int:
        return sum(line.amount_minor for line in self.came)

    @property
    def went_minor(self) -> int:
        return sum(line.amount_minor for line in self.went)

    @property
    def closing_minor(self) -> int:
        return self.opening_minor + self.came_minor - self.went_minor


@dataclass(frozen=True, kw_only=True)
class Donated:
    """Donated services of the period, and what of them was for care that always needs a practitioner's skill."""

    all_minor: int
    skilled_minor: int


@dataclass(frozen=True, kw_only=True)
class Activity:
    scope: Scope
    income: tuple[ClassLine, ...]
    released: ClassLine
    expense: tuple[ClassLine, ...]
    moved: ClassLine
    opening: ClassLine
    cash: Cash
    donated: Donated

    @property
    def came_in(self) -> ClassLine:
        return together("Came in", (*self.income, self.released))

    @property
    def went_out(self) -> ClassLine:
        return together("Went out", self.expense)

    @property
    def change(self) -> ClassLine:
        return together("Change", (self.came_in, self.moved), (self.went_out,))

    @property
    def closing(self) -> ClassLine:
        return together("Net assets at the end", (self.opening, self.change))


def together(words: str, plus: Iterable[ClassLine], minus: Iterable[ClassLine] = ()) -> ClassLine:
    added, taken = tuple(plus), tuple(minus)
    return ClassLine(
        words=words,
        without_minor=sum(line.without_minor for line in added) - sum(line.without_minor for line in taken),
        with_minor=sum(line.with_minor for line in added) - sum(line.with_minor for line in taken),
    )


def activity(*, scope: Scope) -> Activity:
    moved = moves(scope)
    restricted = dict(Fund.objects.filter(id__in={row.fund_id for row in moved}).values_list("id", "is_restricted"))
    sums: dict[tuple[str, bool], int] = defaultdict(int)
    for row in moved:
        of = restricted[row.fund_id]
        sums[row.debit, of] += row.amount_minor
        sums[row.credit, of] -= row.amount_minor
    opening = net_assets_at(on=scope.day_before, as_of=scope.as_of, by="fund__is_restricted")
    released = sum(sums[code, RESTRICTED] for code in NAME_OF if KIND_OF[code] == Kind.EXPENSE)
    return Activity(
        scope=scope,
        income=_income(sums),
        released=ClassLine(words="Released from restriction", without_minor=released, with_minor=-released),
        expense=_expense(sums),
        moved=ClassLine(
            words="Moved between funds",
            without_minor=-sums[TRANSFERS, FREE],
            with_minor=-sums[TRANSFERS, RESTRICTED],
        ),
        opening=ClassLine(
            words="Net assets at the beginning", without_minor=opening[FREE], with_minor=opening[RESTRICTED]
        ),
        cash=_cash(accounts_at(on=scope.day_before, as_of=scope.as_of)[BANK], moved),
        donated=_donated(moved),
    )


def _donated(moved: Iterable[Moved]) -> Donated:
    """The practice has the skill and its work would otherwise be bought; only procedures always need the skill."""
    sums: dict[str, int] = defaultdict(int)
    for row in moved:
        if row.credit == DONATED_SERVICES:
            sums[row.debit] += row.amount_minor
        elif row.debit == DONATED_SERVICES:
            sums[row.credit] -= row.amount_minor
    skilled = sum(
        minor
        for kind, minor in sums.items()
        if recognized(needs_skill=kind == PROCEDURES, has_skill=True, would_be_bought=True)
    )
    return Donated(all_minor=sum(sums.values()), skilled_minor=skilled)


def _income(sums: dict[tuple[str, bool], int]) -> tuple[ClassLine, ...]:
    return tuple(
        ClassLine(words=words, without_minor=-sums[code, FREE], with_minor=-sums[code, RESTRICTED])
        for code, words in NAME_OF.items()
        if KIND_OF[code] == Kind.INCOME and code != TRANSFERS and (sums[code, FREE] or sums[code, RESTRICTED])
    )


def _expense(sums: dict[tuple[str, bool], int]) -> tuple[ClassLine, ...]:
    """Every expense stands without restrictions: what restricted money met is released first."""
    return tuple(
        ClassLine(words=words, without_minor=sums[code, FREE] + sums[code, RESTRICTED], with_minor=0)
        for code, words in NAME_OF.items()
        if KIND_OF[code] == Kind.EXPENSE and (sums[code, FREE] or sums[code, RESTRICTED])
    )


def _cash(opening_minor: int, moved: tuple[Moved, ...]) -> Cash:
    """A transfer moves nothing at the bank, so its two legs are left out."""
    came: dict[str, int] = defaultdict(int)
    went: dict[str, int] = defaultdict(int)
    for row in moved:
        if row.debit == BANK and row.credit != TRANSFERS:
            came[row.credit] += row.amount_minor
        if row.credit == BANK and row.debit != TRANSFERS:
            went[row.debit] += row.amount_minor
    return Cash(
        opening_minor=opening_minor,
        came=tuple(CashLine(words=words, amount_minor=came[code]) for code, words in NAME_OF.items() if came.get(code)),
        went=tuple(CashLine(words=words, amount_minor=went[code]) for code, words in NAME_OF.items() if went.get(code)),
    )
