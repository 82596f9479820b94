"""What giving sites hold and have not paid out, by the days on which it came, the oldest first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import accumulate

from django.db.models import Q, Sum

from ledger.formulas import bank_matching
from ledger.models import Entry, Posting
from ledger.models.accounts import CLEARING
from ledger.queries.owed import now

DAYS_BACK = 400
BACK = (Entry.Kind.RETURN, Entry.Kind.REVERSAL)
NO_GIFTS = (Entry.Kind.PAYOUT, *BACK)


@dataclass(frozen=True, kw_only=True)
class Span:
    """Days that make a payout, what is each fund's of it, and how many gifts went back from it."""

    first_on: date
    last_on: date
    amounts: dict[int, int]
    is_oldest: bool
    went_back: int


@dataclass
class AtSites:
    """What is left to be paid out, as proposals take from it: gifts by day, by day and fund, and what went back."""

    days: list[tuple[date, int]]
    came: dict[date, dict[int, int]]
    back: dict[int, dict[int, int]]  # by entry and fund, since the last payout
    held: dict[int, int] = field(default_factory=dict)

    def span(self, target: int, until: date) -> Span | None:
        """Take the days that make a payout: a site pays its oldest money first, less what went back meanwhile."""
        known = [(day, minor) for day, minor in self.days if day <= until]
        for first, last, back in self._candidates([minor for _, minor in known], target):
            days = known[first : last + 1]
            amounts = bank_matching.split(target, wished=self._wished(days, back), held=self.held)
            if amounts is not None:
                self._take(amounts, days, back)
                return Span(
                    first_on=days[0][0],
                    last_on=days[-1][0],
                    amounts=amounts,
                    is_oldest=first == 0,
                    went_back=len(back),
                )
        return None

    def _candidates(self, sums: Sequence[int], target: int) -> Iterator[tuple[int, int, tuple[int, ...]]]:
        for first, last in bank_matching.spans(sums, target):
            yield first, last, ()
        entries = list(self.back)
        gone = [sum(self.back[number].values()) for number in entries]
        for last, reached in enumerate(accumulate(sums)):
            if reached - target == sum(gone) and gone:
                yield 0, last, tuple(entries)
            elif parts := bank_matching.only_parts(gone, reached - target):
                yield 0, last, tuple(entries[place] for place in parts)

    def _wished(self, days: Iterable[tuple[date, int]], back: Iterable[int]) -> dict[int, int]:
        wished: dict[int, int] = defaultdict(int)
        for day, _ in days:
            for fund, minor in self.came[day].items():
                wished[fund] += minor
        for number in back:
            for fund, minor in self.back[number].items():
                wished[fund] -= minor
        return wished

    def take_all(self, target: int) -> dict[int, int] | None:
        """Take a payout of which only the sum is known, as it is held."""
        amounts = bank_matching.split(target, wished=self.held, held=self.held)
        if amounts is not None:
            self._take(amounts, (), ())
        return amounts

    def _take(self, amounts: dict[int, int], days: Collection[tuple[date, int]], back: Collection[int]) -> None:
        self.days = [one for one in self.days if one not in days]
        self.back = {number: funds for number, funds in self.back.items() if number not in back}
        self.held = {fund: minor - amounts.get(fund, 0) for fund, minor in self.held.items()}


def at_sites(*, today: date) -> AtSites:
    """Return what giving sites hold; what came first was paid out first."""
    held = {fund: minor for (fund, _), minor in now((CLEARING,)).items()}
    came: dict[date, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    rows = Posting.objects.filter(Q(debit=CLEARING) | Q(credit=CLEARING)).exclude(entry__kind__in=NO_GIFTS)
    rows = rows.filter(entry__on__gte=today - timedelta(days=DAYS_BACK))
    sums = rows.values_list("entry__on", "fund", "debit").annotate(Sum("amount_minor"))
    for on, fund, debit, minor in sums:
        came[on][fund] += minor if debit == CLEARING else -minor
    back = _back()
    left, days = sum(held.values()) + sum(sum(funds.values()) for funds in back.values()), []
    for on in sorted(came, reverse=True):
        minor = sum(came[on].values())
        if left <= 0:
            break
        days.append((on, min(minor, left)))
        left -= minor
    return AtSites(days=days[::-1], came=came, back=back, held=held)


def _back() -> dict[int, dict[int, int]]:
    """What went back out of what sites hold since they paid out last: a site takes it off its next payout."""
    last = Entry.objects.filter(kind=Entry.Kind.PAYOUT).order_by("-id").values_list("id", flat=True).first() or 0
    rows = Posting.objects.filter(Q(debit=CLEARING) | Q(credit=CLEARING), entry__kind__in=BACK, entry__gt=last)
    rows = rows.exclude(entry__reverses__kind=Entry.Kind.PAYOUT)
    back: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for number, fund, credit, minor in rows.values_list("entry", "fund", "credit", "amount_minor").order_by("entry"):
        back[number][fund] += minor if credit == CLEARING else -minor
    return back
