"""The shelves as care takes from them: which lots are left of the supplies of some services, and what a line uses.

A supply is counted from the day on which its first lot arrived; what was used before, and a supply that never had a
lot, is not.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.db.models import Min

from clinic.formulas import shelves
from clinic.formulas.shelves import MILLION, LotLeft, LotMove
from clinic.models import KitLine, SupplyLot
from config.units import with_unit
from ledger.queries.policies import policy


@dataclass(frozen=True)
class Needed:
    """One supply of a kit: how much of it one unit of the service takes."""

    supply_id: int
    name: str
    unit: str
    quantity: Decimal | Fraction


@dataclass(frozen=True)
class Short:
    """What a line needs and the shelf does not have."""

    supply_id: int
    words: str


@dataclass(frozen=True)
class UsedSupply:
    """What a line takes of one supply and what that costs, in minor units; `donated` is the part that was given."""

    supply_id: int
    quantity: Fraction
    cost: Fraction
    donated: Fraction


@dataclass(frozen=True)
class Used:
    """What a line takes from lots, by supply, and how the lots move; nothing of a supply that is not counted."""

    supplies: tuple[UsedSupply, ...] = ()
    moves: tuple[LotMove, ...] = ()
    short: Short | None = None

    @property
    def donated(self) -> Fraction:
        return sum((one.donated for one in self.supplies), Fraction(0))


NOTHING = Used()


class Shelves:
    """What is left for a day, line after line: what an earlier line took is gone for the next one."""

    def __init__(self, *, on: date, services: Collection[int], further: Collection[int] = ()) -> None:
        """Read the shelves of what stands in the kits of the services, and of `further` supplies."""
        self.on = on
        self.kits = kits(services)
        supplies = {line.supply_id for lines in self.kits.values() for line in lines} | {*further}
        self.counted = counted_since(supplies, on=on) if supplies else frozenset()
        self.lots = lots_left(self.counted) if self.counted else {}
        self.method = str(policy(code="supplies_cost", on=on)) if self.counted else ""

    def mark(self) -> dict[int, tuple[LotLeft, ...]]:
        return dict(self.lots)

    def back_to(self, mark: dict[int, tuple[LotLeft, ...]]) -> None:
        """Forget what was taken since the mark: a row that stays behind takes nothing."""
        self.lots = mark

    def use(self, *, service_id: int, quantity: Decimal, needed: Sequence[Needed] | None = None) -> Used:
        """Take what `quantity` of a service needs by its kit, or each as `needed`; where something is short, say so."""
        planned = self.kits.get(service_id, ()) if needed is None else needed
        needed = [line for line in planned if line.supply_id in self.counted]
        if not needed:
            return NOTHING
        supplies, moves, mark = [], [], self.mark()
        for line in needed:
            wanted = int(Fraction(line.quantity) * Fraction(quantity) * MILLION)
            lots = self.lots.get(line.supply_id, ())
            missing = wanted - shelves.on_hand(lots, self.on)
            if missing > 0:
                self.back_to(mark)
                return Used(short=_short(line, missing, shelves.on_hand(lots) >= wanted))
            taken = shelves.take(lots=lots, quantity=wanted, on=self.on, method=self.method)
            self.lots[line.supply_id] = tuple(lot for lot in taken.left if lot.left)
            supplies.append(UsedSupply(line.supply_id, Fraction(wanted, MILLION), taken.cost, taken.donated))
            moves += taken.moves
        return Used(tuple(supplies), tuple(moves))


def units(millionths: int) -> Decimal:
    return Decimal(millionths) / MILLION


def _short(line: Needed, missing: int, later: bool) -> Short:
    why = "; what is on hand arrived later" if later else ""
    return Short(
        line.supply_id, f"counted short: {with_unit(units(missing), line.unit)} of {line.name.lower()} missing{why}"
    )


def kits(services: Collection[int]) -> dict[int, tuple[Needed, ...]]:
    """Return what one unit of each service takes."""
    found: dict[int, list[Needed]] = defaultdict(list)
    lines = KitLine.objects.filter(kit__service__in=services).order_by("pk")
    for service, *needed in lines.values_list("kit__service", "supply", "supply__name", "supply__unit", "quantity"):
        found[service].append(Needed(*needed))
    return {service: tuple(lines) for service, lines in found.items()}


def kit_names() -> dict[int, str]:
    """Return by supply the names of the services whose kits it stands in."""
    found: dict[int, list[str]] = defaultdict(list)
    for supply, service in KitLine.objects.order_by("kit__service__name").values_list("supply", "kit__service__name"):
        found[supply].append(service)
    return {supply: ", ".join(names) for supply, names in found.items()}


def counted_since(supplies: Iterable[int], *, on: date) -> frozenset[int]:
    """Return which of the supplies had their first lot by `on`."""
    return frozenset(
        SupplyLot.objects.filter(supply__in=supplies).values("supply").annotate(first=Min("arrived_on"))
        .filter(first__lte=on).values_list("supply", flat=True)
    )  # fmt: skip


def lots_left(supplies: Iterable[int]) -> dict[int, tuple[LotLeft, ...]]:
    """Return the lots of which something is left, by supply, the oldest first."""
    found: dict[int, list[LotLeft]] = defaultdict(list)
    lots = SupplyLot.objects.filter(supply__in=supplies, left_millionths__gt=0).order_by("arrived_on", "pk")
    for lot in lots:
        found[lot.supply_id].append(
            LotLeft(
                lot.pk,
                lot.arrived_on,
                lot.quantity_millionths,
                lot.cost_minor,
                lot.source == SupplyLot.Source.GIVEN,
                lot.left_millionths,
                lot.left_cost,
                lot.left_donated,
                lot.is_averaged,
            )
        )
    return {supply: tuple(lots) for supply, lots in found.items()}
