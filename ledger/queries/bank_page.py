"""The bank's pages: accounts, what is left over, what stands for a line, and an account's lines in pages."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from config import home
from ledger.models import (
    BankAccount,
    BankFile,
    BankLine,
    BankMatch,
    BankMatchEntry,
    BankMatchLine,
    BankRule,
    BankStatement,
)
from ledger.models.accounts import NAME_OF
from ledger.queries import bank
from ledger.queries.bank_open import BankEntry, OpenLine, entries_of, lines_of, moved_by, open_entries
from ledger.queries.bank_proposals import RULE_WORDS, Proposal, proposals
from ledger.queries.owed import parties_money

PAGE, NEAREST, LOOK_BACK = 60, 12, 35


@dataclass(frozen=True, kw_only=True)
class AccountLine:
    account_id: int
    name: str
    identifier: str
    to_on: date | None
    closing_minor: int


@dataclass(frozen=True, kw_only=True)
class RuleLine:
    rule_id: int
    contains: str
    words: str
    by: str


@dataclass(frozen=True, kw_only=True)
class Waits:
    """A line for which nothing stands, and what it may be."""

    line: OpenLine
    proposal: Proposal | None


@dataclass(frozen=True, kw_only=True)
class BankPage:
    accounts: tuple[AccountLine, ...]
    waits: tuple[Waits, ...]
    gaps: tuple[str, ...]
    rules: tuple[RuleLine, ...]

    @property
    def certain(self) -> tuple[Waits, ...]:
        return tuple(one for one in self.waits if one.proposal and one.proposal.is_certain)

    @property
    def possible(self) -> tuple[Waits, ...]:
        return tuple(one for one in self.waits if one.proposal and not one.proposal.is_certain)

    @property
    def left(self) -> tuple[Waits, ...]:
        return tuple(one for one in self.waits if one.proposal is None)


@dataclass(frozen=True, kw_only=True)
class FileLine:
    file_id: int
    name: str
    form_words: str
    statements: int
    brought_at: datetime
    by: str


@dataclass(frozen=True, kw_only=True)
class MatchFacts:
    """What stands for a line."""

    words: str
    why: str
    by: str
    at: datetime
    entries: tuple[BankEntry, ...]
    others: tuple[OpenLine, ...]


@dataclass(frozen=True, kw_only=True)
class AccountRow:
    line: OpenLine
    entries: tuple[int, ...]
    is_matched: bool


@dataclass(frozen=True, kw_only=True)
class AccountPage:
    account: AccountLine
    statements: tuple[BankStatement, ...]
    rows: tuple[AccountRow, ...]
    earlier: int | None  # the mark of the lines before these


def bank_page(*, today: date) -> BankPage:
    return BankPage(
        accounts=_accounts(),
        waits=tuple(Waits(line=line, proposal=found) for line, found in proposals(today=today)),
        gaps=tuple(gap.sentence for gap in bank.gaps()),
        rules=_rules(),
    )


def files() -> tuple[FileLine, ...]:
    """Return the files that were brought, the newest first."""
    return tuple(
        FileLine(
            file_id=one.id,
            name=one.name,
            form_words=one.get_form_display(),
            statements=one.statements.count(),
            brought_at=one.brought_at,
            by=home.person(one.brought_by) if one.brought_by else "",
        )
        for one in BankFile.objects.order_by("-brought_at", "-id")[:40]
    )


def account_names() -> tuple[str, ...]:
    return tuple(BankAccount.objects.order_by("name").values_list("name", flat=True))


def account_page(*, account: BankAccount, before: int | None = None) -> AccountPage:
    """Return an account's lines, the latest first, a page at a time."""
    rows = BankLine.objects.filter(account=account).order_by("-on", "-id")
    rows = rows[(before or 0) : (before or 0) + PAGE + 1]
    numbers = [row.id for row in rows]
    lines = lines_of(BankLine.objects.filter(id__in=numbers[:PAGE]))[::-1]
    matched = dict(BankMatchLine.objects.filter(line__in=numbers, stands=True).values_list("line", "match"))
    entries: dict[int, list[int]] = defaultdict(list)
    for match_id, number in BankMatchEntry.objects.filter(match__in=matched.values()).values_list("match", "entry"):
        entries[match_id].append(number)
    return AccountPage(
        account=_account(account),
        statements=tuple(account.statements.select_related("file").order_by("-to_on", "-id")[:24]),
        rows=tuple(
            AccountRow(
                line=line,
                entries=tuple(sorted(entries[matched[line.line_id]])) if line.line_id in matched else (),
                is_matched=line.line_id in matched,
            )
            for line in lines
        ),
        earlier=(before or 0) + PAGE if len(numbers) > PAGE else None,
    )


def one_line(line: BankLine) -> OpenLine:
    return lines_of(BankLine.objects.filter(id=line.id))[0]


def proposal_for(line: BankLine, *, today: date) -> Proposal | None:
    return next((found for one, found in proposals(today=today) if one.line_id == line.id), None)


def match_of(line: BankLine) -> MatchFacts | None:
    """Return what stands for a line, None where nothing does."""
    part = BankMatchLine.objects.filter(line=line, stands=True).select_related("match").first()
    if part is None:
        return None
    made: BankMatch = part.match
    numbers = list(made.entries.values_list("entry", flat=True))
    others = BankLine.objects.filter(id__in=made.lines.exclude(line=line).values("line"))
    return MatchFacts(
        words=made.get_way_display(),
        why=made.why,
        by=home.person(made.made_by),
        at=made.made_at,
        entries=entries_of(moved_by(numbers)),
        others=lines_of(others),
    )


def nearest(line: OpenLine) -> tuple[BankEntry, ...]:
    """Return the entries that may stand for a line: of its own sign, those nearest in time."""
    found = open_entries(since=line.on - timedelta(days=LOOK_BACK))
    same = [one for one in found if (one.amount_minor > 0) == (line.amount_minor > 0) and one.kind != "opening"]
    chosen = sorted(same, key=lambda one: (one.amount_minor != line.amount_minor, abs((one.on - line.on).days)))
    return tuple(chosen[:NEAREST])


def partners() -> Sequence[tuple[str, str]]:
    return [(key, name) for key, name, _, _ in parties_money()]


def _accounts() -> tuple[AccountLine, ...]:
    return tuple(_account(one) for one in BankAccount.objects.order_by("name"))


def _account(one: BankAccount) -> AccountLine:
    statements = list(one.statements.order_by("to_on", "id"))
    moved = sum(one.lines.values_list("amount_minor", flat=True))
    return AccountLine(
        account_id=one.id,
        name=one.name,
        identifier=one.identifier or "",
        to_on=statements[-1].to_on if statements else None,
        closing_minor=bank.opening_of(statements).opening_minor + moved if statements else 0,
    )


def _rules() -> tuple[RuleLine, ...]:
    names = {key: name for key, name, _, _ in parties_money()}
    return tuple(
        RuleLine(
            rule_id=rule.id,
            contains=rule.contains,
            words=", ".join(
                part
                for part in (
                    RULE_WORDS[rule.way],
                    NAME_OF.get(rule.account, "").lower(),
                    rule.fund.name if rule.fund else "",
                    names.get(rule.party_key, ""),
                )
                if part
            ),
            by=home.person(rule.made_by),
        )
        for rule in BankRule.objects.filter(ended_by=None).select_related("fund").order_by("-id")
    )
