"""Matches lines at the bank with entries of the books, by a person's word; where an entry is missing it is posted.

PostingRefused
└── MatchRefused
    ├── ProposalMoved      what was shown is not what would be posted any more
    ├── LineMatched        the line, or one of the entries, stands in a match already
    ├── AmountsDiffer      the entries do not make the line
    ├── WayUnclear         a line that came in cannot be a payment, and the other way round
    ├── AlreadySigned      the bank was signed as reconciled to a later day
    └── NothingMatched     nothing stands for the line
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from config import home
from config.templating import minor_text
from ledger import posting
from ledger.actions import bills, gifts, other_income, partner_money, payouts, practice, spending
from ledger.models import BankLine, BankMatch, BankMatchEntry, BankMatchLine, BankReconciliation, BankRule, Entry, Fund
from ledger.posting import PostingRefused
from ledger.queries.bank_open import moved_by
from ledger.queries.bank_proposals import OUTWARDS, Proposal, proposals

Way = BankMatch.Way


class MatchRefused(PostingRefused):
    """Nothing was matched and nothing posted."""


class ProposalMoved(MatchRefused):
    def __init__(self) -> None:
        super().__init__(
            "The books or the bank's lines have moved since the list was shown. Nothing was recorded. Look at it again."
        )


class LineMatched(MatchRefused):
    def __init__(self) -> None:
        super().__init__(
            "Something stands for this line already, or one of the entries stands for another. Nothing was changed."
        )


class AmountsDiffer(MatchRefused):
    def __init__(self, lines_minor: int, entries_minor: int) -> None:
        digits = home.digits()
        super().__init__(
            f"The bank moved {minor_text(lines_minor, digits)} and the entries {minor_text(entries_minor, digits)}. "
            "Nothing was matched. Choose the entries that make the line to the cent."
        )


class WayUnclear(MatchRefused):
    field = "way"

    def __init__(self) -> None:
        super().__init__("Money that came in is no payment, and money that went out no income. Nothing was recorded.")


class AlreadySigned(MatchRefused):
    def __init__(self, on: date) -> None:
        super().__init__(f"The bank is signed as reconciled to {on}. Nothing was changed. Take that back first.")


class NothingMatched(MatchRefused):
    def __init__(self) -> None:
        super().__init__("Nothing stands for this line. Nothing was changed.")


@dataclass(frozen=True, kw_only=True)
class Hand:
    """Who does it, and when."""

    by: int
    today: date
    at: datetime


@transaction.atomic
def confirm(*, tokens: Mapping[int, str], hand: Hand) -> list[BankMatch]:
    """Post and match what was proposed for some lines, as it was shown: each line's id with its proposal's token.

    :raises ProposalMoved: when one of them is not proposed any more.
    :raises PostingRefused: when the books cannot take an entry; then none of them is recorded.
    """
    posting.lock()
    there = {line.line_id: found for line, found in proposals(today=hand.today) if found}
    chosen = [there.get(line_id) for line_id in tokens]
    if any(one is None or one.token != tokens[one.line.line_id] for one in chosen):
        raise ProposalMoved
    return [_confirmed(one, hand) for one in chosen if one]


@transaction.atomic
def match(*, key: UUID, line_ids: Collection[int], numbers: Collection[int], hand: Hand, why: str = "") -> BankMatch:
    """Match lines with entries that are in the books already.

    :raises LineMatched: when one of them stands in a match.
    :raises AmountsDiffer: when they do not make each other.
    """
    way = Way.OWN if not numbers else Way.DEPOSIT if len(numbers) > 1 else Way.ENTRY
    return _made(key=key, way=way, why=why, line_ids=line_ids, numbers=numbers, hand=hand)


@transaction.atomic
def record(
    *,
    key: UUID,
    line: BankLine,
    way: str,
    hand: Hand,
    words: str = "",
    fund_id: int | None = None,
    account: str = "",
    party_key: str = "",
    remember: str = "",
) -> BankMatch:
    """Post what a line is, as a person says, and match it; `remember` are words by which such lines are known.

    :raises WayUnclear: when a line of this sign cannot be that.
    :raises PostingRefused: when the books cannot take it.
    """
    posting.lock()
    facts = {"fund_id": fund_id, "account": account, "party_key": party_key}
    number = _posted(key, line, way, words=words, hand=hand, **facts)
    if remember.strip():
        BankRule.objects.create(
            key=uuid5(key, "rule"),
            contains=remember.strip()[:80],
            way=way,
            made_by=hand.by,
            made_at=hand.at,
            account=account if way == Way.SPENDING else "",
            fund_id=fund_id if way in (Way.SPENDING, Way.INCOME, Way.GIFT) else None,
            party_key=party_key if way == Way.PARTNER else "",
        )
    return _made(key=uuid5(key, "match"), way=way, why="", line_ids=[line.id], numbers=[number], hand=hand)


@transaction.atomic
def undo(*, line: BankLine, hand: Hand) -> BankMatch:
    """Undo the match of a line by name; the entries stay in the books, and wait for a line again.

    :raises NothingMatched: when it is in none.
    :raises AlreadySigned: when the bank was signed as reconciled to a later day.
    """
    posting.lock()
    part = BankMatchLine.objects.filter(line=line, stands=True).select_related("match").first()
    if part is None:
        raise NothingMatched
    first = min(part.match.lines.values_list("line__on", flat=True))
    _check_signed(first)
    part.match.undone_by, part.match.undone_at = hand.by, hand.at
    part.match.save(update_fields=["undone_by", "undone_at"])
    return part.match


@transaction.atomic
def end_rule(*, rule: BankRule, by: int) -> None:
    """End a rule: lines with its words are not known by it any more."""
    rule.ended_by = by
    rule.save(update_fields=["ended_by"])


def _check_signed(on: date) -> None:
    signed = BankReconciliation.objects.filter(undone_by=None, on__gte=on).order_by("-on").first()
    if signed:
        raise AlreadySigned(signed.on)


def _confirmed(one: Proposal, hand: Hand) -> BankMatch:
    line_ids = [one.line.line_id, *([one.other.line_id] if one.other else [])]
    numbers = [entry.number for entry in one.entries]
    if not numbers and one.way != Way.OWN:
        line = BankLine.objects.get(id=one.line.line_id)
        key = uuid5(line.account.key, f"{line.identity} {one.token} {BankMatch.objects.count()}")
        words = " ".join(part for part in (one.line.who, one.line.words) if part)[:300]
        facts = {"fund_id": one.fund_id, "account": one.account, "party_key": one.party_key}
        facts |= {"amounts": dict(one.amounts), "slip_key": one.slip_key}
        numbers = [_posted(key, line, one.way, words=words, hand=hand, **facts)]
    return _made(key=uuid4(), way=one.way, why=one.reason[:300], line_ids=line_ids, numbers=numbers, hand=hand)


def _posted(
    key: UUID,
    line: BankLine,
    way: str,
    *,
    words: str,
    hand: Hand,
    fund_id: int | None,
    account: str,
    party_key: str,
    amounts: Mapping[int, int] | None = None,
    slip_key: UUID | None = None,
) -> int:
    """Post the entry that a line is, through the action that a person would use, and return its number."""
    if (way in (*OUTWARDS, Way.BILL)) != (line.amount_minor < 0) or way in (Way.ENTRY, Way.DEPOSIT, Way.OWN):
        raise WayUnclear
    minor = abs(line.amount_minor)
    said = {"key": key, "on": line.on, "words": words, "by": hand.by, "today": hand.today, "at": hand.at}
    if way == Way.PAYOUT:
        entry = payouts.pay_out(amounts=amounts, **said) if amounts else payouts.pay_out_all(amount_minor=minor, **said)
    elif way == Way.PARTNER:
        entry = partner_money.pay(party_key=party_key, amount_minor=minor, **said)
    elif way == Way.PRACTICE:
        entry = practice.pay(amount_minor=minor, **said)
    elif way == Way.BILL:
        return bills.pay(slip_key=slip_key, **said).entry_id
    elif way == Way.SPENDING:
        entry = spending.spend(kind=account, fund_id=_chosen(fund_id), amount_minor=minor, **said)
    elif way == Way.INCOME:
        entry = other_income.receive(fund_id=_chosen(fund_id), amount_minor=minor, **said)
    else:
        received = {"received_on": said.pop("on"), "fund_id": _chosen(fund_id), "amount_minor": minor}
        return gifts.receive(donor_id=None, **received, **said).entry_id
    return entry.id


def _chosen(fund_id: int | None) -> int:
    return fund_id if fund_id is not None else Fund.objects.get(kind=Fund.Kind.GENERAL).id


def _made(
    *, key: UUID, way: str, why: str, line_ids: Collection[int], numbers: Collection[int], hand: Hand
) -> BankMatch:
    posting.lock()
    if known := BankMatch.objects.filter(key=key).first():
        return known
    lines = list(BankLine.objects.filter(id__in=line_ids))
    moved = moved_by(Entry.objects.filter(id__in=numbers).values_list("id", flat=True))
    _check_free(lines, numbers)
    sums = sum(line.amount_minor for line in lines), sum(moved.values())
    if sums[0] != sums[1] or len(lines) != len(set(line_ids)) or len(moved) != len(set(numbers)):
        raise AmountsDiffer(*sums)
    last = BankMatch.objects.order_by("-id").values_list("id", flat=True).first() or 0
    made = BankMatch(id=last + 1, key=key, way=way, why=why, made_by=hand.by, made_at=hand.at)
    BankMatchLine.objects.bulk_create(BankMatchLine(match=made, line=line) for line in lines)
    BankMatchEntry.objects.bulk_create(BankMatchEntry(match=made, entry_id=number) for number in moved)
    made.save(force_insert=True)
    return made


def _check_free(lines: Sequence[BankLine], numbers: Collection[int]) -> None:
    taken = BankMatchLine.objects.filter(line__in=lines, stands=True).exists()
    if taken or BankMatchEntry.objects.filter(entry__in=numbers, stands=True).exists():
        raise LineMatched
