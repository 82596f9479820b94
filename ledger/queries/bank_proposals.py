"""What each line at the bank may be, with the reason; nothing is posted and nothing written.

Looked for in this order: what the books have already, gifts brought to the bank together, a giving site's payout,
what a rule of the house says, what a partner or the practice is owed to the cent, a bill, a line that undoes another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from uuid import UUID

from config.days import day_year
from ledger.formulas import bank_matching
from ledger.formulas.bank_files import digest
from ledger.models import BankMatch, BankRule, Charge, Entry, Words
from ledger.models.accounts import DUE_TO_PRACTICE, NAME_OF
from ledger.queries.bank_open import BankEntry, OpenLine, open_entries, open_lines
from ledger.queries.bank_payouts import AtSites, at_sites
from ledger.queries.bills import owed_by_charge
from ledger.queries.owed import now, parties_money

Way = BankMatch.Way
BEFORE, AFTER, TOGETHER, OPPOSITE = 35, 7, 21, 14  # days
LONG_ENOUGH = 4


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """What a line may be. `entries` are in the books already; otherwise confirming posts one, as the facts say."""

    line: OpenLine
    way: str
    reason: str
    is_certain: bool = False
    entries: tuple[BankEntry, ...] = ()
    amounts: tuple[tuple[int, int], ...] = ()  # of a payout: minor units by fund
    fund_id: int | None = None
    account: str = ""
    party_key: str = ""
    slip_key: UUID | None = None
    other: OpenLine | None = None

    @property
    def words(self) -> str:
        return Way(self.way).label

    @property
    def token(self) -> str:
        """What was shown, in short: what is confirmed must still be that."""
        facts = (
            self.line.line_id, str(self.way), [one.number for one in self.entries], self.amounts, self.fund_id,
            self.account, self.party_key, self.slip_key, self.other.line_id if self.other else None,
        )  # fmt: skip
        return digest(repr(facts))[:16]


@dataclass
class _Seen:
    """What is there to propose from; a proposal takes its part, so that no two have the same."""

    lines: Sequence[OpenLine]
    entries: list[BankEntry]
    sites: AtSites
    rules: Sequence[BankRule]
    parties: Sequence[tuple[str, str, int, int]]
    practice_minor: int
    bills: list[tuple[UUID, str, int]]
    used_lines: set[int] = field(default_factory=set)

    def take(self, found: Proposal) -> Proposal:
        numbers = {one.number for one in found.entries}
        self.entries = [one for one in self.entries if one.number not in numbers]
        self.bills = [bill for bill in self.bills if bill[0] != found.slip_key]
        self.used_lines |= {found.line.line_id, *([found.other.line_id] if found.other else [])}
        return found


def proposals(*, today: date) -> tuple[tuple[OpenLine, Proposal | None], ...]:
    """Return the open lines, the oldest first, each with what it may be, where anything is known of it."""
    lines = open_lines()
    if not lines:
        return ()
    seen = _seen(lines, today)
    found: dict[int, Proposal] = {}
    for way in WAYS:
        for line in lines:
            if line.line_id not in seen.used_lines and (one := way(line, seen)):
                found[line.line_id] = seen.take(one)
    others = {one.other.line_id for one in found.values() if one.other}
    return tuple((line, found.get(line.line_id)) for line in lines if line.line_id not in others)


def _seen(lines: Sequence[OpenLine], today: date) -> _Seen:
    since = lines[0].on - timedelta(days=BEFORE)
    practice = sum(-minor for (_, code), minor in now((DUE_TO_PRACTICE,)).items() if code == DUE_TO_PRACTICE)
    return _Seen(
        lines=lines,
        entries=[one for one in open_entries(since=since) if one.kind != Entry.Kind.OPENING],
        sites=at_sites(today=today),
        rules=list(BankRule.objects.filter(ended_by=None).order_by("-id")),
        parties=parties_money(),
        practice_minor=practice,
        bills=_bills() if any(line.amount_minor < 0 for line in lines) else [],
    )


def _bills() -> list[tuple[UUID, str, int]]:
    charges = {one.id: one for one in Charge.objects.filter(owed_to="bill").select_related("entry")}
    owed = {number: sum(funds.values()) for number, funds in owed_by_charge(charges).items()}
    words = Words.objects.in_bulk([charges[number].entry_id for number, minor in owed.items() if minor > 0])
    return [
        (charges[number].entry.key, words[charges[number].entry_id].line, minor)
        for number, minor in owed.items()
        if minor > 0 and charges[number].entry_id in words
    ]


def _near(line: OpenLine, one: BankEntry) -> bool:
    return timedelta(days=-AFTER) <= line.on - one.on <= timedelta(days=BEFORE)


def _in_the_books(line: OpenLine, seen: _Seen) -> Proposal | None:
    fitting = [one for one in seen.entries if one.amount_minor == line.amount_minor and _near(line, one)]
    if not fitting:
        return None
    named = [one for one in fitting if _shares_a_word(f"{one.who} {one.words}", line.text)]
    best = min(named or fitting, key=lambda one: (abs((line.on - one.on).days), one.number))
    rivals = [other for other in seen.lines if other.amount_minor == line.amount_minor and _near(other, best)]
    alone = len(fitting) == 1 and len(rivals) == 1
    certain = alone or len(named) == 1 or [one for one in named if one.on == line.on] == [best]
    told = f"Entry {best.number} of {day_year(best.on)} has the same amount"
    told += " and name." if best in named else "." if certain else ", as others have."
    return Proposal(line=line, way=Way.ENTRY, reason=told, is_certain=certain, entries=(best,))


def _deposit(line: OpenLine, seen: _Seen) -> Proposal | None:
    """Gifts by check, brought to the bank together: those of days side by side, or the only ones that make it."""
    begun = line.on - timedelta(days=TOGETHER)
    gifts = [
        one
        for one in seen.entries
        if one.kind == Entry.Kind.GIFT and one.amount_minor > 0 and begun <= one.on <= line.on
    ]
    if line.amount_minor <= 0 or len(gifts) < 2:
        return None
    by_day = Counter[date]()
    for one in gifts:
        by_day[one.on] += one.amount_minor
    days = sorted(by_day)
    found = bank_matching.spans([by_day[day] for day in days], line.amount_minor)
    if found:
        first, last = days[found[-1][0]], days[found[-1][1]]
        chosen = tuple(one for one in gifts if first <= one.on <= last)
        count = "The gift" if len(chosen) == 1 else f"The {len(chosen)} gifts"
        told = f"{count} by check of {_between(first, last)} {'makes' if len(chosen) == 1 else 'make'} it."
        return Proposal(line=line, way=Way.DEPOSIT, reason=told, is_certain=len(found) == 1, entries=chosen)
    parts = bank_matching.only_parts([one.amount_minor for one in gifts], line.amount_minor)
    if not parts:
        return None
    chosen = tuple(gifts[place] for place in parts)
    told = f"{len(chosen)} gifts since {day_year(chosen[0].on)} make it, and no others do."
    return Proposal(line=line, way=Way.DEPOSIT, reason=told, entries=chosen)


def _payout(line: OpenLine, seen: _Seen) -> Proposal | None:
    if line.amount_minor <= 0 or not (found := seen.sites.span(line.amount_minor, line.on)):
        return None
    less = "" if not found.went_back else " and one gift that went back"
    less = less if found.went_back < 2 else f" and {found.went_back} gifts that went back"
    told = f"What came to the giving sites on {_between(found.first_on, found.last_on)}, less fees{less}, is just this."
    facts = {"amounts": tuple(sorted(found.amounts.items())), "is_certain": found.is_oldest}
    return Proposal(line=line, way=Way.PAYOUT, reason=told, **facts)


def _by_rule(line: OpenLine, seen: _Seen) -> Proposal | None:
    rule = next((one for one in seen.rules if one.contains.casefold() in line.text), None)
    if rule is None or (rule.way in OUTWARDS) != (line.amount_minor < 0):
        return None
    facts = {"fund_id": rule.fund_id, "account": rule.account, "party_key": rule.party_key}
    if rule.way == Way.PAYOUT:
        amounts = seen.sites.take_all(line.amount_minor)
        if amounts is None:
            return None
        facts["amounts"] = tuple(sorted(amounts.items()))
    told = f"It says “{rule.contains}”: that was known before as {RULE_WORDS[rule.way]}"
    told += f", {NAME_OF[rule.account].lower()}." if rule.account else "."
    return Proposal(line=line, way=rule.way, reason=told, is_certain=rule.way != Way.PAYOUT, **facts)


def _partner(line: OpenLine, seen: _Seen) -> Proposal | None:
    if line.amount_minor <= 0:
        return None
    for key, name, due, _ in seen.parties:
        plain = name.casefold().replace("agreement", "").strip()
        if len(plain) >= LONG_ENOUGH and plain in line.text:
            told = f"It names {name}, which owes {'just that' if due == line.amount_minor else 'by its agreement'}."
            return Proposal(
                line=line, way=Way.PARTNER, reason=told, is_certain=0 < line.amount_minor <= due, party_key=key
            )
    exact = [key for key, _, due, _ in seen.parties if due == line.amount_minor]
    if len(exact) != 1:
        return None
    name = next(name for key, name, _, _ in seen.parties if key == exact[0])
    return Proposal(line=line, way=Way.PARTNER, reason=f"{name} owes just that.", party_key=exact[0])


def _practice(line: OpenLine, seen: _Seen) -> Proposal | None:
    if line.amount_minor >= 0 or -line.amount_minor != seen.practice_minor:
        return None
    return Proposal(line=line, way=Way.PRACTICE, reason="The funds owe the practice just that.")


def _bill(line: OpenLine, seen: _Seen) -> Proposal | None:
    exact = [bill for bill in seen.bills if bill[2] == -line.amount_minor]
    named = [bill for bill in exact if _shares_a_word(bill[1], line.text)]
    if not exact or (len(exact) > 1 and len(named) != 1):
        return None
    key, words, _ = (named or exact)[0]
    told = f"{words} asks just that."
    return Proposal(line=line, way=Way.BILL, reason=told, is_certain=len(named) == 1, slip_key=key)


def _undoing(line: OpenLine, seen: _Seen) -> Proposal | None:
    for other in seen.lines:
        apart = abs((other.on - line.on).days)
        free = other.line_id not in seen.used_lines and other.line_id != line.line_id
        if free and other.amount_minor == -line.amount_minor and apart <= OPPOSITE:
            where = "back" if other.account_id == line.account_id else f"on {other.account_name}"
            told = f"The same amount went {where} on {day_year(other.on)}."
            return Proposal(line=line, way=Way.OWN, reason=told, other=other)
    return None


def _between(first: date, last: date) -> str:
    return day_year(first) if first == last else f"{day_year(first)} to {day_year(last)}"


def _shares_a_word(words: str, text: str) -> bool:
    return any(len(word) >= LONG_ENOUGH and word in text for word in words.casefold().replace(",", " ").split())


OUTWARDS = (Way.PRACTICE, Way.SPENDING)
RULE_WORDS = {
    "payout": "a giving site’s payout",
    "partner": "a partner’s payment",
    "practice": "a payment to the practice",
    "spending": "spending",
    "income": "other income",
    "gift": "a gift",
}
WAYS: tuple[Callable[[OpenLine, _Seen], Proposal | None], ...] = (
    _in_the_books, _payout, _deposit, _by_rule, _partner, _practice, _bill, _undoing,
)  # fmt: skip
