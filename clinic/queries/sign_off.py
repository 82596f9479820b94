"""The preview of signing off a day: what the care comes to and who pays it, before anything is written."""

import hashlib
import json
from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from clinic.models import EveningSeen
from clinic.queries.day_prices import PricedLine
from clinic.queries.priced_day import PricedRow, priced_day
from ledger.queries import sharing

RANKS = ("names this animal", "agreement", "purpose fits", "partner's fund", "general money")


@dataclass(frozen=True)
class Payer:
    label: str
    reason: str
    amount_minor: int
    rank: int  # 1 to 5; 0 when nobody pays


@dataclass(frozen=True)
class PreviewLine:
    words: str
    quantity: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    payers: tuple[Payer, ...]
    remarks: tuple[str, ...]
    notes: tuple[str, ...]  # why somebody pays less of it than they might


@dataclass(frozen=True)
class PreviewRow:
    animal_id: int
    name: str
    number: str
    species: str
    place: str
    partner: str
    lines: tuple[PreviewLine, ...]
    cost_minor: int
    usual_minor: int
    asked_minor: int
    by_rank: tuple[int, ...]  # what payers of ranks 1 to 5 pay
    nobody_minor: int
    late: bool
    paid_words: tuple[tuple[int, str, str], ...]  # amount, label, reason, summed over the lines

    @property
    def remarks(self) -> tuple[str, ...]:
        """What of its lines is out of the ordinary, and once each why somebody pays less than they might."""
        of_lines = [f"{line.words}: {remark}" for line in self.lines for remark in line.remarks]
        return (*of_lines, *dict.fromkeys(note for line in self.lines for note in line.notes))


@dataclass(frozen=True)
class Behind:
    """A row that is not ready and stays behind."""

    animal_id: int
    name: str
    number: str
    place: str
    why: str
    short_of: int | None = None  # the supply that is counted short


@dataclass(frozen=True)
class PayerSum:
    label: str
    reason: str
    rank: int
    amount_minor: int


@dataclass(frozen=True)
class Preview:
    on: date
    today: date
    rows: tuple[PreviewRow, ...]
    behind: tuple[Behind, ...]
    payers: tuple[PayerSum, ...]
    digest: str
    seen: bool  # the evening was confirmed

    @property
    def lines(self) -> int:
        return sum(len(row.lines) for row in self.rows)

    @property
    def cost_minor(self) -> int:
        return sum(row.cost_minor for row in self.rows)

    @property
    def usual_minor(self) -> int:
        return sum(row.usual_minor for row in self.rows)

    @property
    def asked_minor(self) -> int:
        return sum(row.asked_minor for row in self.rows)

    @property
    def given_minor(self) -> int:
        return self.usual_minor - self.asked_minor

    @property
    def by_rank(self) -> tuple[int, ...]:
        return tuple(sum(row.by_rank[rank] for row in self.rows) for rank in range(5))

    @property
    def nobody_minor(self) -> int:
        return sum(row.nobody_minor for row in self.rows)

    @property
    def nobody_lines(self) -> tuple[tuple[str, int], ...]:
        return tuple(
            (f"{row.name}, {line.words.lower()}", payer.amount_minor)
            for row in self.rows
            for line in row.lines
            for payer in line.payers
            if payer.rank == 0
        )

    @property
    def may_sign(self) -> bool:
        """A day that is over may be signed; today only after everybody was seen (B9)."""
        return bool(self.rows) and (self.on < self.today or self.seen)

    @property
    def is_short(self) -> bool:
        """A shelf is what holds a row back."""
        return any(row.short_of for row in self.behind)

    @property
    def is_unpriced(self) -> bool:
        return any(not row.short_of for row in self.behind)

    @property
    def remarks(self) -> int:
        return sum(len(row.remarks) for row in self.rows)


def sign_off(*, on: date, today: date) -> Preview:
    """Price the day and share it over the payers exactly as signing would, and write nothing."""
    priced = priced_day(on=on)
    ready = [row for row in priced if not row.obstacle]
    shared = sharing.preview(slips=slips(ready), today=today)
    return Preview(
        on=on,
        today=today,
        rows=_rows(ready, shared),
        behind=tuple(
            Behind(
                row.animal.pk,
                row.animal.name or row.animal.number,
                row.animal.number,
                row.place,
                row.obstacle,
                row.short_of,
            )
            for row in priced
            if row.obstacle
        ),
        payers=_payers(shared),
        digest=digest(shared, ready),
        seen=EveningSeen.objects.filter(sheet__on=on).exists(),
    )


def slips(rows: list[PricedRow]) -> tuple:
    return tuple(line.slip for row in rows for line in row.lines)


def digest(shared, rows: list[PricedRow]) -> str:
    """Return the check number of a preview: any fact, price, fund or lot that moves its figures changes it."""
    taken = {
        line.slip.key: [[move.lot_id, move.quantity, move.cost] for move in line.used.moves]
        for row in rows
        for line in row.lines
        if line.slip
    }
    said = [
        [
            str(one.slip.key),
            one.slip.words,
            str(one.slip.quantity),
            one.slip.cost_minor,
            one.slip.usual_minor,
            one.slip.asked_minor,
            one.slip.goods_minor,
            taken[one.slip.key],
            [[share.payer, share.fund_id, share.amount_minor, share.reason] for share in one.shares],
            str(one.on),
        ]
        for one in shared
    ]
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def _rows(ready: list[PricedRow], shared) -> tuple[PreviewRow, ...]:
    by_key = {one.slip.key: one for one in shared}
    return tuple(_row(row, [by_key[line.slip.key] for line in row.lines]) for row in ready)


def _row(row: PricedRow, shared) -> PreviewRow:
    lines = tuple(_line(line, one) for line, one in zip(row.lines, shared, strict=True))
    payers = [payer for line in lines for payer in line.payers]
    sums: dict[tuple[int, str, str], int] = defaultdict(int)
    for payer in payers:
        sums[(payer.rank or 9, payer.label, payer.reason)] += payer.amount_minor
    return PreviewRow(
        animal_id=row.animal.pk,
        name=row.animal.name or row.animal.number,
        number=row.animal.number,
        species=row.animal.species,
        place=row.place,
        partner=row.animal.partner.name if row.animal.partner else "",
        lines=lines,
        cost_minor=sum(line.cost_minor for line in lines),
        usual_minor=sum(line.usual_minor for line in lines),
        asked_minor=sum(line.asked_minor for line in lines),
        by_rank=tuple(sum(p.amount_minor for p in payers if p.rank == rank) for rank in range(1, 6)),
        nobody_minor=sum(p.amount_minor for p in payers if p.rank == 0),
        late=row.late,
        paid_words=tuple((amount, label, reason) for (_, label, reason), amount in sorted(sums.items())),
    )


def _line(line: PricedLine, one) -> PreviewLine:
    return PreviewLine(
        words=line.service.name,
        quantity="" if line.quantity == 1 else f"{line.quantity.normalize():f}",
        cost_minor=one.slip.cost_minor,
        usual_minor=one.slip.usual_minor,
        asked_minor=one.slip.asked_minor,
        payers=tuple(
            Payer(
                label=share.label,
                reason=share.reason if share.payer != "nobody" else "",
                amount_minor=share.amount_minor,
                rank=share.rank if share.payer != "nobody" else 0,
            )
            for share in one.shares
        ),
        remarks=line.remarks,
        notes=one.notes,
    )


def _payers(shared) -> tuple[PayerSum, ...]:
    sums: dict[tuple[int, str], int] = defaultdict(int)
    reasons: dict[tuple[int, str], str] = {}
    for one in shared:
        for share in one.shares:
            if share.payer == "nobody":
                continue
            sums[(share.rank, share.label)] += share.amount_minor
            reasons[(share.rank, share.label)] = share.reason
    return tuple(
        PayerSum(label=label, reason=reasons[(rank, label)], rank=rank, amount_minor=amount)
        for (rank, label), amount in sorted(sums.items())
    )
