"""Gift files: what each row would become, and what is in the books of it already."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID, uuid5

from config import home, tables, uploads
from ledger.formulas import gift_files as formulas
from ledger.formulas.gift_files import CannotStand, GiftRow, Reading
from ledger.models import Donor, Entry, Fund, Gift, GiftFile, GiftSource
from ledger.queries.periods import closed_through

NEW, KNOWN = "new", "known"


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A row that stands: who gave it as far as can be told, which fund takes it, whether the books have it."""

    row: GiftRow
    key: UUID
    donor_id: int | None
    donor_key: UUID | None  # of a donor that would be added; None beside a donor, or where nobody is named
    donor_name: str
    match: str  # by what the donor was found: "by e-mail", or "new", or "nobody is named"
    fund_id: int
    fund_name: str
    is_known: bool


@dataclass(frozen=True, kw_only=True)
class Wrong:
    line: int
    sentence: str
    said: str


@dataclass(frozen=True, kw_only=True)
class Preview:
    """What a file would become. `obstacle` says why nothing can be read yet; then there are no rows."""

    obstacle: str
    reading: Reading | None
    rows: tuple[Judged, ...]
    wrong: tuple[Wrong, ...]

    @property
    def new(self) -> tuple[Judged, ...]:
        return tuple(one for one in self.rows if not one.is_known)

    @property
    def known(self) -> int:
        return len(self.rows) - len(self.new)

    @property
    def gross_minor(self) -> int:
        return sum(one.row.gross_minor for one in self.new)

    @property
    def fee_minor(self) -> int:
        return sum(one.row.fee_minor for one in self.new)

    @property
    def net_minor(self) -> int:
        return self.gross_minor - self.fee_minor

    @property
    def new_donors(self) -> int:
        return len({one.donor_key for one in self.new if one.donor_key})

    @property
    def reading_words(self) -> str:
        if self.reading is None:
            return ""
        mark = "a decimal point" if self.reading.decimal == "." else "a decimal comma"
        if self.reading.day_first is None:
            return mark
        return f"{mark}; in dates of three numbers the {'day' if self.reading.day_first else 'month'} first"


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
    content = uploads.read(sha256=file.sha256, content_type=file.content_type)
    if content is None:
        raise tables.TableBroken
    return tables.read(content)


def columns_of(source: GiftSource, table: tables.Table) -> dict[str, int]:
    """Return which column holds what: as it was said for the source, else guessed by the heads."""
    if not source.columns:
        return formulas.guessed(table.heads)
    places = {head: place for place, head in enumerate(table.heads)}
    return {meaning: places[head] for meaning, head in source.columns.items() if head in places}


def preview(*, file: GiftFile, table: tables.Table, today: date) -> Preview:
    """Return what each row would become; nothing is written."""
    source, columns = file.source, columns_of(file.source, table)
    missing = next((meaning for meaning in formulas.NEEDED if meaning not in columns), None)
    if missing or source.fund_id is None:
        return _stopped("Say which column holds what, and which fund takes a gift that names none.")
    amounts = [row.cells[columns[name]] for row in table.rows for name in ("gross", "fee", "net") if name in columns]
    try:
        reading = formulas.decided(
            amounts=amounts,
            days=[row.cells[columns["on"]] for row in table.rows],
            decimal=source.decimal,
            day_first=source.day_first,
        )
    except formulas.Unclear as unclear:
        return _stopped(str(unclear))
    found, wrong = [], []
    for row in table.rows:
        try:
            found.append(
                formulas.gift_row(
                    line=row.line, cells=row.cells, columns=columns, reading=reading, digits=home.digits()
                )
            )
        except CannotStand as cannot:
            wrong.append(Wrong(line=row.line, sentence=str(cannot), said=_said(row.cells)))
    judged, refused = _judged(source, found, today)
    wrong = sorted([*wrong, *refused], key=lambda one: one.line)
    return Preview(obstacle="", reading=reading, rows=judged, wrong=tuple(wrong))


def _stopped(obstacle: str) -> Preview:
    return Preview(obstacle=obstacle, reading=None, rows=(), wrong=())


def _said(cells: Sequence[str]) -> str:
    return ", ".join(cell for cell in cells if cell)[:160]


def _judged(source: GiftSource, rows: Sequence[GiftRow], today: date) -> tuple[tuple[Judged, ...], list[Wrong]]:
    rules = [(rule.contains, rule.fund_id) for rule in source.rules.order_by("position")]
    names = dict(Fund.objects.values_list("id", "name"))
    keys = _keys(source, rows)
    twice = {one for one, count in Counter(row.reference for row in rows if row.reference).items() if count > 1}
    gifts = _recorded(keys)
    known_donors, closed = _Donors(), closed_through()
    judged, wrong = [], []
    for row, key in zip(rows, keys, strict=True):
        there = gifts.get(key)
        if row.reference in twice:
            wrong.append(_wrong(row, "Its reference stands more than once in this file."))
        elif there and (there.amount_minor, there.fee_minor, there.received_on) != (
            row.gross_minor, row.fee_minor, row.on,
        ):  # fmt: skip
            wrong.append(_wrong(row, "The books have it under this reference with other figures."))
        elif not there and row.on > today:
            wrong.append(_wrong(row, "Its day has not come yet."))
        elif not there and closed and row.on <= closed:
            wrong.append(_wrong(row, f"It lies in a period that closed through {closed}: reopen it first."))
        else:
            fund = formulas.fund_of(words=row.words, rules=rules, otherwise=source.fund_id or 0)
            donor_id, donor_key, name, match = known_donors.of(source, row)
            judged.append(
                Judged(
                    row=row,
                    key=key,
                    donor_id=donor_id,
                    donor_key=donor_key,
                    donor_name=name,
                    match=match,
                    fund_id=fund,
                    fund_name=names.get(fund, ""),
                    is_known=there is not None,
                )
            )
    return tuple(judged), wrong


def _wrong(row: GiftRow, sentence: str) -> Wrong:
    return Wrong(line=row.line, sentence=sentence, said=", ".join(part for part in (row.name, row.reference) if part))


def _keys(source: GiftSource, rows: Sequence[GiftRow]) -> list[UUID]:
    """A row is known by its reference; without one by all it says, and by how many said the same before it."""
    seen: Counter[str] = Counter()
    keys = []
    for row in rows:
        said = (
            f"reference {row.reference}"
            if row.reference
            else f"{row.on} {row.gross_minor} {row.fee_minor} {row.name} {row.email} {row.words}"
        )
        seen[said] += 1
        keys.append(uuid5(source.key, said if seen[said] == 1 else f"{said} #{seen[said]}"))
    return keys


def _recorded(keys: Sequence[UUID]) -> dict[UUID, Gift]:
    found: dict[UUID, Gift] = {}
    for start in range(0, len(keys), 500):
        entries = Entry.objects.filter(key__in=keys[start : start + 500]).select_related("gift")
        found |= {entry.key: entry.gift for entry in entries}
    return found


class _Donors:
    """Who a row may be: by e-mail, else by name and address, else by a name that only one donor has."""

    def __init__(self) -> None:
        self.by_email: dict[str, Donor] = {}
        self.by_name: dict[str, list[Donor]] = defaultdict(list)
        for donor in Donor.objects.order_by("id"):
            if donor.email:
                self.by_email.setdefault(donor.email.casefold(), donor)
            self.by_name[donor.name.casefold()].append(donor)

    def of(self, source: GiftSource, row: GiftRow) -> tuple[int | None, UUID | None, str, str]:
        if row.email and (donor := self.by_email.get(row.email.casefold())):
            return donor.id, None, donor.name, "by e-mail"
        named = self.by_name.get(row.name.casefold(), []) if row.name else []
        at_home = [one for one in named if row.address and one.address.casefold() == row.address.casefold()]
        if len(at_home) == 1:
            return at_home[0].id, None, at_home[0].name, "by name and address"
        if len(named) == 1 and not (row.email and named[0].email) and not (row.address and named[0].address):
            return named[0].id, None, named[0].name, "by name alone"
        if not (row.name or row.email):
            return None, None, "", "nobody is named"
        who = row.email or f"{row.name} {row.address}".casefold()
        return None, uuid5(source.key, f"donor {who}"), row.name or row.email, "new"
