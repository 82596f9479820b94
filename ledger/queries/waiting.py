"""The money that waits in each fund, oldest first, as it stands while a batch is being posted.

A batch reads an inflow at most once and keeps what is left of it here; the rows themselves are moved by trigger
when the uses are written.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from django.db.models import Q, Sum

from ledger.formulas import tracing
from ledger.models import Inflow, Posting, Shortfall, Use

FIRST_READ, NEXT_READ = 20, 500
OLD, NEW = 0, 1


@dataclass(eq=False)
class Standing:
    """A row with what is left of it at this point of the batch."""

    row: Inflow | Shortfall
    left: int
    place: tuple
    is_waiting: bool = False

    def __lt__(self, other: Standing) -> bool:
        return self.place < other.place


@dataclass
class Line:
    """One fund's inflows, oldest first: those seen so far on a heap, the rest still in the database."""

    fund_id: int
    seen: dict[int, Standing]
    heap: list[Standing] = field(default_factory=list)
    last: tuple | None = None
    is_read: bool = False
    reads: int = 0

    def oldest(self) -> Iterator[tuple[Standing, int]]:
        while standing := self._first():
            yield standing, standing.left
            if standing.left:
                return
            self._drop(standing)

    def join(self, standing: Standing) -> None:
        if standing.left and not standing.is_waiting:
            standing.is_waiting = True
            heapq.heappush(self.heap, standing)

    def _drop(self, standing: Standing) -> None:
        standing.is_waiting = False
        heapq.heappop(self.heap)

    def _first(self) -> Standing | None:
        while self.heap and not self.heap[0].left:
            self._drop(self.heap[0])
        if not self.is_read and (not self.heap or self.last is None or self.heap[0].place[:3] > self.last):
            self._read()
            return self._first()
        return self.heap[0] if self.heap else None

    def _read(self) -> None:
        rows = Inflow.objects.filter(fund_id=self.fund_id, left_minor__gt=0)
        if self.last:
            received_on, _, number = self.last
            rows = rows.filter(Q(received_on__gt=received_on) | Q(received_on=received_on, id__gt=number))
        most = NEXT_READ if self.reads else FIRST_READ
        page = list(rows.order_by("received_on", "id")[:most])
        self.reads += 1
        self.is_read = len(page) < most
        for row in page:
            if row.id not in self.seen:
                self.seen[row.id] = Standing(row=row, left=row.left_minor, place=(row.received_on, OLD, row.id))
                self.join(self.seen[row.id])
        if page:
            self.last = (page[-1].received_on, OLD, page[-1].id)


class Waiting:
    """Every fund's line and open shortfalls for the length of one batch."""

    def __init__(self) -> None:
        self._seen: dict[int, Standing] = {}
        self._lines: dict[int, Line] = {}
        self._short: dict[int, list[Standing]] = {}
        self._came = 0

    def line(self, fund_id: int) -> Line:
        if fund_id not in self._lines:
            self._lines[fund_id] = Line(fund_id=fund_id, seen=self._seen)
        return self._lines[fund_id]

    def came_in(self, inflow: Inflow) -> Standing:
        self._came += 1
        standing = Standing(row=inflow, left=inflow.amount_minor, place=(inflow.received_on, NEW, self._came))
        self.line(inflow.fund_id).join(standing)
        return standing

    def take(self, fund_id: int, amount_minor: int) -> tuple[list[tuple[Inflow, int]], int]:
        """Take from the oldest unspent money of a fund; return what was taken, and what was missing."""
        taken, missing = [], amount_minor
        for standing, left in self.line(fund_id).oldest():
            if not missing:
                break
            part = min(left, missing)
            standing.left -= part
            missing -= part
            taken.append((standing.row, part))
        return taken, missing

    def open_shortfalls(self, fund_id: int) -> list[Standing]:
        if fund_id not in self._short:
            rows = Shortfall.objects.filter(fund_id=fund_id, left_minor__gt=0).order_by("id")
            self._short[fund_id] = [Standing(row=row, left=row.left_minor, place=(row.id,)) for row in rows]
        return [standing for standing in self._short[fund_id] if standing.left]

    def went_short(self, shortfall: Shortfall) -> None:
        self.open_shortfalls(shortfall.fund_id)
        self._short[shortfall.fund_id].append(Standing(row=shortfall, left=shortfall.amount_minor, place=()))

    def give_back(self, posting: Posting, amount_minor: int) -> list[tuple[Inflow, int]]:
        """Return `amount_minor` of what `posting` spent to the inflows that paid it, the latest first."""
        used = (
            Use.objects.filter(Q(posting=posting) | Q(posting__back_of=posting), inflow__isnull=False)
            .values("inflow")
            .annotate(net=Sum("amount_minor"))
            .filter(net__gt=0)
            .order_by("inflow")
        )
        paid = [(self._standing(row["inflow"]), row["net"]) for row in used]
        paid.sort(key=lambda pair: pair[0].place)
        back = tracing.latest_back(amount_minor, paid)
        for standing, part in back:
            standing.left += part
            self.line(posting.fund_id).join(standing)
        return [(standing.row, part) for standing, part in back]

    def take_from(self, traced: Iterable[tuple[Inflow, int]]) -> tuple[list[tuple[Inflow, int]], int]:
        """Take from the very money that is named; return what was taken, and what was missing."""
        taken, missing = [], 0
        for inflow, wanted in traced:
            standing = self._standing(inflow.id)
            part = min(standing.left, wanted)
            standing.left -= part
            missing += wanted - part
            taken.append((standing.row, part))
        return [pair for pair in taken if pair[1]], missing

    def give_back_to(self, traced: Iterable[tuple[Inflow, int]]) -> list[tuple[Inflow, int]]:
        """Return to the very money that is named what it had paid."""
        back = []
        for inflow, part in traced:
            standing = self._standing(inflow.id)
            standing.left += part
            self.line(standing.row.fund_id).join(standing)
            back.append((standing.row, part))
        return back

    def brought_by(self, posting: Posting) -> list[Standing]:
        return [self._standing(number) for number in posting.inflows.order_by("-id").values_list("id", flat=True)]

    def _standing(self, inflow_id: int) -> Standing:
        if inflow_id not in self._seen:
            row = Inflow.objects.get(id=inflow_id)
            self._seen[inflow_id] = Standing(row=row, left=row.left_minor, place=(row.received_on, OLD, row.id))
            self.line(row.fund_id).join(self._seen[inflow_id])
        return self._seen[inflow_id]
