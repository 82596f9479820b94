"""What each row of a gift file would become: a gift, one that went back, or nothing, with a sentence why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol
from uuid import UUID, uuid5

from config import home
from config.days import day_year
from config.templating import minor_text
from ledger.formulas import gift_files as formulas
from ledger.formulas.gift_files import GiftRow
from ledger.models import Fund, GiftSource
from ledger.queries.funds import general_fund, open_for_gifts
from ledger.queries.gift_row_keys import content_of, gift_key_of, keys_of
from ledger.queries.gifts_by_key import Figures, Target, entered, figures_of, targets_of
from ledger.queries.periods import closed_through

# What a row becomes. A past gift counts for receipts alone; a past return is of one, before the books began.
GIFT, PAST, OPENING, BACK, PAST_BACK = "gift", "past", "opening", "back", "past_back"


@dataclass(frozen=True, kw_only=True, slots=True)
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
    kind: str = GIFT
    rule: str = ""  # the words by which a rule found the fund
    gift_key: UUID | None = None  # of the gift that goes back


@dataclass(frozen=True, kw_only=True)
class Wrong:
    """A row that cannot stand as it is; its key is that of the gift it would be, where it is its own alone."""

    line: int
    key: UUID
    sentence: str
    said: str


class Donors(Protocol):
    def of(self, source: GiftSource, row: GiftRow) -> tuple[int | None, UUID | None, str, str]: ...


def judge(
    *,
    source: GiftSource,
    rows: Sequence[GiftRow],
    donors: Donors,
    today: date,
    only: Collection[int] | None = None,
    booked_on: date | None = None,
) -> tuple[tuple[Judged, ...], list[Wrong]]:
    """Return the rows that stand, by line, and a sentence for each other; nothing is written.

    `only` are the lines to judge among all rows of the file. With `booked_on` a gift is booked on that day and keeps
    the day on which it was received.
    """
    wanted = [row for row in rows if only is None or row.line in only]
    bench = _Bench(source, rows, wanted, donors, today)
    bench.booked_on = booked_on
    for row in wanted:
        if not row.back:
            bench.judge_gift(row)
    for row in wanted:
        if row.back:
            bench.judge_back(row)
    return tuple(sorted(bench.judged, key=lambda one: one.row.line)), bench.wrong


class _Bench:
    """What judging one row needs of the books and of the other rows: read once."""

    booked_on: date | None = None

    def __init__(
        self, source: GiftSource, rows: Sequence[GiftRow], wanted: Sequence[GiftRow], donors: Donors, today: date
    ) -> None:
        self.source, self.donors, self.today, self.closed = source, donors, today, closed_through()
        self.begun_on = general_fund().opened_on
        self.judged: list[Judged] = []
        self.wrong: list[Wrong] = []
        self.rules = [(rule.contains, rule.fund_id) for rule in source.rules.order_by("position")]
        self.funds = dict(Fund.objects.values_list("id", "name"))
        self.by_name = {name.casefold(): number for number, name in open_for_gifts()}
        self.keys = keys_of(source, rows)
        named = Counter(row.reference for row in rows if row.reference and not row.back)
        self.twice = {reference for reference, count in named.items() if count > 1}
        self.known = self._known(wanted)
        self.target_of = {row.line: gift_key_of(source, row) for row in wanted if row.back}
        self.targets = targets_of({key for key in self.target_of.values() if key})
        self.gone_back = entered({self.keys[line] for line in self.target_of})

    def _known(self, wanted: Sequence[GiftRow]) -> dict[UUID, Figures]:
        """What the books have of these rows; an opening balance without a donor is no gift, and known by its entry."""
        keys = {self.keys[row.line]: row for row in wanted if not row.back}
        if self.source.way != GiftSource.AT_OPENING:
            return figures_of(set(keys))
        return {key: (keys[key].gross_minor, keys[key].fee_minor, keys[key].on) for key in entered(set(keys))}

    def judge_gift(self, row: GiftRow) -> None:
        key = self.keys[row.line]
        there = self.known.get(key)
        if sentence := self._why_no_gift(row, there):
            self._refuse(row, sentence, key=None if there or row.reference in self.twice else key)
            return
        rule = formulas.rule_of(words=row.words, rules=self.rules) if not row.fund else None
        fund = self.by_name[row.fund.casefold()] if row.fund else rule[1] if rule else self.source.fund_id or 0
        kind = self._kind(row)
        donor_id, donor_key, name, match = self.donors.of(self.source, row)
        self.judged.append(
            Judged(
                row=row,
                key=key,
                donor_id=donor_id,
                donor_key=donor_key,
                donor_name=name,
                match=match,
                fund_id=fund,
                fund_name="" if kind == PAST else self.funds.get(fund, ""),
                is_known=there is not None,
                kind=kind,
                rule=rule[0] if rule else "",
            )
        )
        if not there and self.target_of:
            brought = Target(
                left_minor=row.gross_minor,
                donor_name=name,
                fund_name=self.funds.get(fund, ""),
                is_past=kind == PAST,
            )
            self.targets.setdefault(key, brought)

    def _why_no_gift(self, row: GiftRow, there: Figures | None) -> str:
        if row.reference in self.twice:
            return "Its reference stands more than once in this file."
        if there:
            same = there == (row.gross_minor, row.fee_minor, row.on)
            return "" if same else "The books have it under this reference with other figures."
        if row.on > self.today:
            return "Its day has not come yet."
        if row.fund and row.fund.casefold() not in self.by_name:
            return f"No open fund that takes gifts is called {row.fund}."
        if self._kind(row) == OPENING and row.on > self.begun_on:
            return f"It came after these books began on {day_year(self.begun_on)}: bring it as a gift."
        return "" if self._is_open(row) else f"Its day lies in a period that is closed through {day_year(self.closed)}."

    def _kind(self, row: GiftRow) -> str:
        if self.source.way == GiftSource.AT_OPENING:
            return OPENING
        return PAST if row.on < self.begun_on else GIFT

    def _is_open(self, row: GiftRow) -> bool:
        """A past gift moves no account, so no closing hinders it."""
        kind = self._kind(row)
        booked_on = self.begun_on if kind == OPENING else self.booked_on or row.on
        return kind == PAST or not self.closed or booked_on > self.closed

    def judge_back(self, row: GiftRow) -> None:
        key, gift_key = self.keys[row.line], self.target_of[row.line]
        target = self.targets.get(gift_key) if gift_key else None
        is_known = key in self.gone_back
        if sentence := "" if is_known else self._why_not_back(row, target):
            self._refuse(row, sentence, key=key)
            return
        self.judged.append(
            Judged(
                row=row,
                key=key,
                donor_id=None,
                donor_key=None,
                donor_name=target.donor_name if target else row.name,
                match="",
                fund_id=0,
                fund_name=target.fund_name if target else "",
                is_known=is_known,
                kind=PAST_BACK if target and target.is_past else BACK,
                gift_key=gift_key,
            )
        )
        if target and not is_known:
            target.left_minor -= row.gross_minor

    def _why_not_back(self, row: GiftRow, target: Target | None) -> str:
        named = row.original or row.reference
        if self.source.way == GiftSource.AT_OPENING:
            return "What was there when the books began is above zero."
        if not named:
            return "It says that a gift went back and names none: record it at that gift."
        if target is None:
            return f"It says that the gift {named} went back, and no gift from here has this reference."
        if row.on > self.today:
            return "Its day has not come yet."
        if target.is_past and row.on >= self.begun_on:
            return f"The gift {named} is from before these books began: record by hand what the bank took."
        if not target.left_minor:
            return f"It says that the gift {named} went back, and nothing is left of that gift."
        if row.gross_minor > target.left_minor:
            amounts = [minor_text(minor, home.digits()) for minor in (row.gross_minor, target.left_minor)]
            return f"It says that {amounts[0]} of the gift {named} went back, of which {amounts[1]} is left."
        return ""

    def _refuse(self, row: GiftRow, sentence: str, *, key: UUID | None) -> None:
        """A row whose key is not its own alone is known by its content."""
        said = ", ".join(part for part in (row.name, row.reference) if part)
        known_by = key or uuid5(self.source.key, f"line {row.line} {content_of(row)}")
        self.wrong.append(Wrong(line=row.line, key=known_by, sentence=sentence, said=said))
