"""Every fund rolled forward: opening + in - out +/- transfers = closing."""

from __future__ import annotations

from dataclasses import dataclass

from ledger.models import Fund
from ledger.models.accounts import KIND_OF, TRANSFERS, Kind
from ledger.queries.funds import ORDER
from ledger.queries.reports import Scope, by_fund, moves
from ledger.queries.sums import IN_OR_OUT, fund_net_assets_at


@dataclass(frozen=True, kw_only=True)
class FundRoll:
    """One fund over a period. Guarantee of its making: opening + in - out + transfers = closing."""

    fund_id: int
    name: str
    kind: str
    is_restricted: bool
    opening_minor: int
    in_minor: int
    out_minor: int
    transfers_minor: int

    @property
    def closing_minor(self) -> int:
        return self.opening_minor + self.in_minor - self.out_minor + self.transfers_minor


@dataclass(frozen=True, kw_only=True)
class Roll:
    """A group of funds with their sum."""

    lines: tuple[FundRoll, ...]

    def _sum(self, name: str) -> int:
        return sum(getattr(line, name) for line in self.lines)

    @property
    def opening_minor(self) -> int:
        return self._sum("opening_minor")

    @property
    def in_minor(self) -> int:
        return self._sum("in_minor")

    @property
    def out_minor(self) -> int:
        return self._sum("out_minor")

    @property
    def transfers_minor(self) -> int:
        return self._sum("transfers_minor")

    @property
    def closing_minor(self) -> int:
        return self._sum("closing_minor")


@dataclass(frozen=True, kw_only=True)
class RollForward:
    """`free` and `restricted` funds hold money, `aside` pass through or hold goods; `at_rest` are only counted."""

    scope: Scope
    free: Roll
    restricted: Roll
    aside: Roll
    at_rest: int

    @property
    def together(self) -> Roll:
        return Roll(lines=(*self.free.lines, *self.restricted.lines, *self.aside.lines))


def roll_forward(*, scope: Scope) -> RollForward:
    """Return every fund that had something before the period or moved in it."""
    opening, moved = fund_net_assets_at(on=scope.day_before, as_of=scope.as_of), by_fund(moves(scope))
    active = {fund_id for fund_id, minor in opening.items() if minor}
    active |= {fund_id for fund_id, mine in moved.items() if any(code in IN_OR_OUT for code in mine)}
    lines = []
    funds = Fund.objects.filter(id__in=active)
    for fund_id, name, kind, is_restricted in funds.values_list("id", "name", "kind", "is_restricted"):
        mine = moved.get(fund_id, {})
        lines.append(
            FundRoll(
                fund_id=fund_id,
                name=name,
                kind=kind,
                is_restricted=is_restricted,
                opening_minor=opening.get(fund_id, 0),
                in_minor=-sum(minor for code, minor in mine.items() if _is(code, Kind.INCOME)),
                out_minor=sum(minor for code, minor in mine.items() if _is(code, Kind.EXPENSE)),
                transfers_minor=-mine.get(TRANSFERS, 0),
            )
        )
    lines.sort(key=lambda line: (ORDER.get(line.kind, 9), line.name))
    money = [line for line in lines if line.kind in ORDER]
    return RollForward(
        scope=scope,
        free=Roll(lines=tuple(line for line in money if not line.is_restricted)),
        restricted=Roll(lines=tuple(line for line in money if line.is_restricted)),
        aside=Roll(lines=tuple(line for line in lines if line.kind not in ORDER)),
        at_rest=Fund.objects.count() - len(lines),
    )


def _is(code: str, kind: str) -> bool:
    return KIND_OF[code] == kind and code != TRANSFERS
