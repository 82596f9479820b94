"""The shelf as a list: what is there, what it cost, what runs out next, what expires next, when it was counted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from django.db.models import Max, Sum

from clinic.formulas.shelves import MILLION
from clinic.models import StockCount, StockMove, Supply, SupplyLot
from clinic.queries.shelves import kit_names, units
from clinic.queries.stock_waiting import waiting
from ledger.formulas import money, pace

PACE_DAYS = 30
SOON = timedelta(days=60)


@dataclass(frozen=True)
class SupplyLine:
    """One supply: `shelf` is what should stand there, what is given and not signed off already gone."""

    supply_id: int
    name: str
    unit: str
    kits: str
    counted: bool  # it has had a lot
    on_hand: Decimal
    waiting: Decimal
    days_left: int | None  # at the pace of the last 30 days; None where nothing was used
    expired: Decimal  # of what is on hand, past its day: to be taken off at the next count
    expires_on: date | None  # of what is still good, the next day
    expires_soon: bool
    counted_on: date | None
    value_minor: int
    donated_minor: int

    @property
    def shelf(self) -> Decimal:
        return self.on_hand - self.waiting

    @property
    def missing(self) -> Decimal:
        return max(-self.shelf, Decimal(0))


@dataclass(frozen=True)
class Supplies:
    on: date
    lines: tuple[SupplyLine, ...]

    @property
    def value_minor(self) -> int:
        return sum(line.value_minor for line in self.lines)

    @property
    def donated_minor(self) -> int:
        return sum(line.donated_minor for line in self.lines)

    @property
    def runs_out(self) -> SupplyLine | None:
        used = [line for line in self.lines if line.days_left is not None]
        return min(used, key=lambda line: (line.days_left or 0, line.name), default=None)

    @property
    def expires(self) -> SupplyLine | None:
        dated = [line for line in self.lines if line.expires_on]
        return min(dated, key=lambda line: (line.expires_on or date.max, line.name), default=None)

    @property
    def expired(self) -> tuple[SupplyLine, ...]:
        return tuple(line for line in self.lines if line.expired)

    @property
    def short(self) -> tuple[SupplyLine, ...]:
        return tuple(line for line in self.lines if line.missing)


def supplies(*, today: date, only: Collection[int] | None = None) -> Supplies:
    """Return every supply by name, or only some, as after what is signed off; read in a fixed number of queries."""
    kits = kit_names()
    every = Supply.objects.order_by("name") if only is None else Supply.objects.filter(pk__in=only)
    lots: dict[int, list[SupplyLot]] = defaultdict(list)
    for lot in SupplyLot.objects.filter(supply__in=every, left_millionths__gt=0).order_by("arrived_on", "pk"):
        lots[lot.supply_id].append(lot)
    known = set(SupplyLot.objects.filter(supply__in=every).values_list("supply", flat=True).distinct())
    used = used_lately(today=today)
    waits = waiting(supplies=known, today=today).millionths
    counted = dict(StockCount.objects.values_list("supply").annotate(last=Max("counted_on")))
    return Supplies(
        on=today,
        lines=tuple(
            _line(
                supply,
                lots[supply.pk],
                kits=kits.get(supply.pk, ""),
                known=supply.pk in known,
                used=used.get(supply.pk, 0) + waits[supply.pk],
                waits=waits[supply.pk],
                counted_on=counted.get(supply.pk),
                today=today,
            )
            for supply in every
        ),
    )


@dataclass(frozen=True)
class ShortSupply:
    """A supply of which more was given than is on hand."""

    supply_id: int
    name: str
    unit: str
    missing: Decimal


def short_supplies(*, today: date) -> tuple[ShortSupply, ...]:
    """Return which supplies are counted short, by name; what uses them stays behind at signing off."""
    on_hand = dict(SupplyLot.objects.values_list("supply").annotate(Sum("left_millionths")))
    if not on_hand:
        return ()
    waits = waiting(supplies=on_hand, today=today).millionths
    missing = {supply: waits[supply] - left for supply, left in on_hand.items() if waits[supply] > left}
    found = Supply.objects.filter(pk__in=missing).order_by("name") if missing else ()
    return tuple(ShortSupply(one.pk, one.name, one.unit, units(missing[one.pk])) for one in found)


@dataclass(frozen=True)
class ExpiredSupply:
    supply_id: int
    name: str


def expired_supplies(*, today: date) -> tuple[ExpiredSupply, ...]:
    """Return the supplies of which something past its day is still on the shelf, by name."""
    past = SupplyLot.objects.filter(left_millionths__gt=0, expires_on__lt=today)
    found = past.order_by("supply__name").values_list("supply", "supply__name").distinct()
    return tuple(ExpiredSupply(supply, name) for supply, name in found)


def used_lately(*, today: date) -> dict[int, int]:
    """Return by supply what was used in the last thirty days, less what was put back, in millionths."""
    moves = StockMove.objects.filter(
        kind__in=[StockMove.Kind.USE, StockMove.Kind.BACK], on__gt=today - timedelta(days=PACE_DAYS)
    )
    return {supply: -moved for supply, moved in moves.values_list("lot__supply").annotate(Sum("quantity_millionths"))}


def worth(millionths: int) -> int:
    """Return money that is kept in millionths of a minor unit in whole ones."""
    return money.half_up(Fraction(millionths, MILLION))


def _line(
    supply: Supply,
    lots: list[SupplyLot],
    *,
    kits: str,
    known: bool,
    used: int,
    waits: int,
    counted_on: date | None,
    today: date,
) -> SupplyLine:
    on_hand = sum(lot.left_millionths for lot in lots)
    past = sum(lot.left_millionths for lot in lots if lot.expires_on and lot.expires_on < today)
    expires = min((lot.expires_on for lot in lots if lot.expires_on and lot.expires_on >= today), default=None)
    return SupplyLine(
        supply_id=supply.pk,
        name=supply.name,
        unit=supply.unit,
        kits=kits,
        counted=known,
        on_hand=units(on_hand),
        waiting=units(waits),
        days_left=pace.days_left(max(on_hand - waits, 0), spent_minor=used, days=PACE_DAYS),
        expired=units(past),
        expires_on=expires,
        expires_soon=expires is not None and expires <= today + SOON,
        counted_on=counted_on,
        value_minor=worth(sum(lot.left_cost for lot in lots)),
        donated_minor=worth(sum(lot.left_donated for lot in lots)),
    )
