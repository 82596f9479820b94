"""One supply: its lots, and how what is on hand came and went, the latest first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.db.models import Count, Sum

from clinic.models import StockCount, StockMove, Supply, SupplyLot
from clinic.queries.shelves import units
from clinic.queries.supplies import SupplyLine, supplies, worth

SHOWN = 60
EMPTY_SHOWN = 8


@dataclass(frozen=True)
class LotLine:
    lot_id: int
    number: str
    source: str
    words: str
    arrived_on: date
    written: str
    left: Decimal
    expires_on: date | None
    expired: bool
    cost_minor: int
    left_minor: int
    untouched: bool  # typed wrong, it can be taken back whole
    gift_entry: int | None


@dataclass(frozen=True)
class Movement:
    """What came or went on a day; uses of one day are one line."""

    on: date
    words: str
    why: str
    came: Decimal | None
    went: Decimal | None
    cost_minor: int
    is_new_day: bool = False


@dataclass(frozen=True)
class SupplyPage:
    line: SupplyLine
    packs: tuple[tuple[str, Decimal], ...]
    lots: tuple[LotLine, ...]
    movements: tuple[Movement, ...]
    more: bool  # there are earlier movements


def supply(*, supply_id: int, today: date) -> SupplyPage | None:
    """Return the page of a supply, or None where there is none."""
    line = next(iter(supplies(today=today, only=[supply_id]).lines), None)
    if line is None:
        return None
    found = Supply.objects.get(pk=supply_id)
    every = sorted(_movements(found), key=lambda one: one.on, reverse=True)
    days = [one.on for one in every]
    return SupplyPage(
        line=line,
        packs=tuple(found.packs.order_by("holds").values_list("name", "holds")),
        lots=_lots(found, today),
        movements=tuple(
            replace(one, is_new_day=number == 0 or days[number - 1] != one.on)
            for number, one in enumerate(every[:SHOWN])
        ),
        more=len(every) > SHOWN,
    )


def _lots(found: Supply, today: date) -> tuple[LotLine, ...]:
    lots = list(found.lots.filter(left_millionths__gt=0).order_by("arrived_on", "pk"))
    lots += found.lots.filter(left_millionths=0).order_by("-arrived_on", "-pk")[:EMPTY_SHOWN]
    return tuple(
        LotLine(
            lot_id=lot.pk,
            number=lot.number,
            source=lot.get_source_display(),
            words=lot.words,
            arrived_on=lot.arrived_on,
            written=lot.written,
            left=units(lot.left_millionths),
            expires_on=lot.expires_on,
            expired=bool(lot.left_millionths and lot.expires_on and lot.expires_on < today),
            cost_minor=lot.cost_minor,
            left_minor=worth(lot.left_cost),
            untouched=not lot.last_move and lot.source != SupplyLot.Source.FOUND,
            gift_entry=lot.gift_entry,
        )
        for lot in lots
    )


def _movements(found: Supply) -> list[Movement]:
    """Return the latest of each sort, which are more than are shown."""
    return [*_arrivals(found), *_counts(found), *_days(found)]


def _arrivals(found: Supply) -> list[Movement]:
    lots = found.lots.exclude(source=SupplyLot.Source.FOUND).order_by("-arrived_on", "-pk")[: SHOWN + 1]
    return [
        Movement(
            on=lot.arrived_on,
            words=f"{lot.written}, {lot.get_source_display()}",
            why=", ".join(part for part in (lot.words, f"lot {lot.number}" if lot.number else "") if part),
            came=units(lot.quantity_millionths),
            went=None,
            cost_minor=lot.cost_minor,
        )
        for lot in lots
    ]


def _counts(found: Supply) -> list[Movement]:
    counts = StockCount.objects.filter(supply=found).annotate(cost=Sum("moves__cost")).select_related("by")
    lines = []
    for count in counts.order_by("-counted_on", "-pk")[: SHOWN + 1]:
        more = units(count.found_millionths - count.expected_millionths)
        as_expected = "as expected" if not more else f"where {_plain(units(count.expected_millionths))} were expected"
        lines.append(
            Movement(
                on=count.counted_on,
                words=f"counted by {count.by.initials}: {_plain(units(count.found_millionths))}, {as_expected}",
                why=count.why,
                came=more if more > 0 else None,
                went=-more if more < 0 else None,
                cost_minor=worth(-(count.cost or 0)),
            )
        )
    return lines


def _days(found: Supply) -> list[Movement]:
    """Return what care used, what corrections put back and which lots were taken back, day by day."""
    moves = StockMove.objects.filter(lot__supply=found).exclude(kind__in=["count", "average"]).values("on", "kind")
    moves = moves.annotate(
        quantity=Sum("quantity_millionths"), cost=Sum("cost"), lines=Count("charge_key", distinct=True)
    )
    lines = []
    for on, kind, quantity, cost, count in moves.order_by("-on", "kind").values_list(
        "on", "kind", "quantity", "cost", "lines"
    )[: SHOWN + 1]:
        of_care = f"{count} {'line' if count == 1 else 'lines'} of care"
        words = {"use": f"used in {of_care}", "back": f"put back by correcting {of_care}", "away": "lot taken back"}
        lines.append(
            Movement(
                on=on,
                words=words[kind],
                why="",
                came=units(quantity) if quantity > 0 else None,
                went=units(-quantity) if quantity < 0 else None,
                cost_minor=abs(worth(cost)),
            )
        )
    return lines


def _plain(quantity: Decimal) -> str:
    return f"{quantity.normalize():f}"
