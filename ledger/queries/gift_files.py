"""Gift files: what each row would become, and what is in the books of it already."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import uuid5

from config import home, table_heads, tables, uploads
from ledger.formulas import gift_files as formulas
from ledger.formulas.typed_cells import CannotStand, Reading, Unclear, decided
from ledger.models import GiftFile, GiftSource, WaitingGift
from ledger.queries.file_donors import FileDonors
from ledger.queries.funds import general_fund
from ledger.queries.judged_gifts import BACK, GIFT, OPENING, PAST, PAST_BACK, Judged, Wrong, judge


@dataclass(frozen=True, kw_only=True)
class Preview:
    """What a file would become. `obstacle` says why nothing can be read yet; then there are no rows."""

    obstacle: str
    reading: Reading | None
    rows: tuple[Judged, ...]
    wrong: tuple[Wrong, ...]
    waiting: int = 0  # how many of the wrong ones wait already

    @property
    def unkept(self) -> int:
        return len(self.wrong) - self.waiting

    @property
    def new(self) -> tuple[Judged, ...]:
        return tuple(one for one in self.rows if not one.is_known)

    @property
    def known(self) -> int:
        return len(self.rows) - len(self.new)

    @property
    def gifts(self) -> tuple[Judged, ...]:
        return self._new(GIFT)

    @property
    def back(self) -> tuple[Judged, ...]:
        return self._new(BACK)

    @property
    def past(self) -> tuple[Judged, ...]:
        """Gifts from before the books began, and what of them had gone back."""
        return self._new(PAST, PAST_BACK)

    @property
    def opening(self) -> tuple[Judged, ...]:
        return self._new(OPENING)

    def _new(self, *kinds: str) -> tuple[Judged, ...]:
        return tuple(one for one in self.new if one.kind in kinds)

    @property
    def past_minor(self) -> int:
        return sum(-one.row.gross_minor if one.row.back else one.row.gross_minor for one in self.past)

    @property
    def opening_minor(self) -> int:
        return sum(one.row.gross_minor for one in self.opening)

    @property
    def gross_minor(self) -> int:
        return sum(one.row.gross_minor for one in self.gifts)

    @property
    def back_minor(self) -> int:
        return sum(one.row.gross_minor for one in self.back)

    @property
    def fee_minor(self) -> int:
        return sum(one.row.fee_minor for one in self._new(GIFT, BACK))

    @property
    def net_minor(self) -> int:
        return self.gross_minor - self.back_minor - self.fee_minor

    @property
    def new_donors(self) -> int:
        return len({one.donor_key for one in self.new if one.donor_key})


@dataclass(frozen=True, kw_only=True)
class FileLine:
    file_id: int
    name: str
    source: str
    rows: int
    brought_at: datetime
    by: str


def files() -> tuple[FileLine, ...]:
    """Return the files that were brought, the newest first."""
    found = GiftFile.objects.select_related("source").order_by("-brought_at", "-id")[:40]
    return tuple(
        FileLine(
            file_id=one.id,
            name=one.name,
            source=one.source.name,
            rows=one.rows,
            brought_at=one.brought_at,
            by=home.person(one.brought_by),
        )
        for one in found
    )


def source_names() -> tuple[str, ...]:
    return tuple(GiftSource.objects.order_by("name").values_list("name", flat=True))


def table_of(file: GiftFile) -> tables.Table:
    """Return a kept file's table.

    :raises TableBroken: when the file is no longer what was kept.
    """
    sha256, content_type = kept_as(file)
    content = uploads.read(sha256=sha256, content_type=content_type)
    if content is None:
        raise tables.TableBroken
    return tables.read(content, knowing(file.source))


def knowing(source: GiftSource | None) -> tuple[table_heads.Knows, ...]:
    """Return by which heads a list from here is known."""
    needed = formulas.NEEDED_AT_OPENING if source and source.way == GiftSource.AT_OPENING else formulas.NEEDED
    columns = source.columns if source else {}
    return formulas.knowing(columns, meanings=formulas.MEANINGS, is_said=lambda found: found.keys() >= set(needed))


def kept_as(file: GiftFile) -> tuple[str, str]:
    """Return under which digest and as what a file is kept now: as it came, or without whom was erased."""
    return (file.copy_sha256, uploads.CSV) if file.copy_sha256 else (file.sha256, file.content_type)


def columns_of(source: GiftSource, table: tables.Table) -> dict[str, int]:
    """Return which column holds what: as it was said for the source, else guessed by the heads."""
    if not source.columns:
        return formulas.guessed(table.heads)
    places = {head: place for place, head in enumerate(table.heads)}
    return {meaning: places[head] for meaning, head in source.columns.items() if head in places}


def preview(
    *,
    file: GiftFile,
    table: tables.Table,
    today: date,
    only: Collection[int] | None = None,
    booked_on: date | None = None,
) -> Preview:
    """Return what each row would become, or those `only` of some lines; nothing is written.

    What somebody has left out stands nowhere. With `booked_on` a gift is booked on that day, as received on its own.
    """
    source, columns = file.source, columns_of(file.source, table)
    blanked = frozenset(file.blanked)
    told = [row for row in table.rows if row.line not in blanked]  # recorded gifts of whom was erased
    at_opening = source.way == GiftSource.AT_OPENING
    needed = formulas.NEEDED_AT_OPENING if at_opening else formulas.NEEDED
    missing = next((meaning for meaning in needed if meaning not in columns), None)
    if missing or source.fund_id is None:
        return _stopped("Say which column holds what, and which fund takes a gift that names none.")
    amounts = [row.cells[columns[name]] for row in told for name in ("gross", "fee", "net") if name in columns]
    try:
        reading = decided(
            amounts=amounts,
            days=[row.cells[columns["on"]] for row in told] if "on" in columns else (),
            decimal=source.decimal,
            day_first=source.day_first,
        )
    except Unclear as unclear:
        return _stopped(str(unclear))
    found, wrong, told_once = [], [], _told_once(told, columns)
    on_otherwise = general_fund().opened_on if at_opening else None
    for row in told:
        try:
            found.append(
                formulas.gift_row(
                    line=row.line,
                    cells=row.cells,
                    columns=columns,
                    reading=reading,
                    digits=home.digits(),
                    back_words=source.back_words,
                    on_otherwise=on_otherwise,
                )
            )
        except CannotStand as cannot:
            if only is None or row.line in only:
                key = uuid5(source.key, formulas.known_by(row.line, row.cells, columns, told_once, source.back_words))
                wrong.append(Wrong(line=row.line, key=key, sentence=str(cannot), said=_said(row.cells)))
    judged, refused = judge(
        source=source, rows=found, donors=FileDonors(found, source=source), today=today, only=only, booked_on=booked_on
    )
    kept = dict(WaitingGift.objects.filter(file__source=source).values_list("key", "left_out_on"))
    wrong = sorted((one for one in [*wrong, *refused] if not kept.get(one.key)), key=lambda one: one.line)
    waiting = sum(one.key in kept for one in wrong)
    return Preview(obstacle="", reading=reading, rows=judged, wrong=tuple(wrong), waiting=waiting)


def _told_once(rows: Sequence[tables.Row], columns: Mapping[str, int]) -> frozenset[str]:
    """Return the references that stand in one row alone."""
    seen = Counter(row.cells[columns["reference"]] for row in rows) if "reference" in columns else Counter()
    return frozenset(reference for reference, times in seen.items() if reference and times == 1)


def _stopped(obstacle: str) -> Preview:
    return Preview(obstacle=obstacle, reading=None, rows=(), wrong=())


def _said(cells: Sequence[str]) -> str:
    return ", ".join(cell for cell in cells if cell)[:160]
