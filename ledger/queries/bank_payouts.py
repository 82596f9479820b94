"""What giving sites hold and have not paid out, by the days on which it came, the oldest first."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Q, Sum

from ledger.formulas import bank_matching
from ledger.models import Entry, Posting
from ledger.models.accounts import CLEARING
from ledger.queries.owed import now

DAYS_BACK = 400


@dataclass
class AtSites:
    """What is left to be paid out, as proposals take from it: net by day, by day and fund, and by fund."""

    days: list[tuple[date, int]]
    came: dict[date, dict[int, int]]
    held: dict[int, int] = field(default_factory=dict)

    def span(self, target: int, until: date) -> tuple[date, date, dict[int, int], bool] | None:
        """Take the days that make a payout; the last says whether it is the oldest money and the only such span."""
        known = [(day, minor) for day, minor in self.days if day <= until]
        found = bank_matching.spans([minor for _, minor in known], target)
        if not found:
            return None
        first, last = found[0]
        wished: dict[int, int] = defaultdict(int)
        for day, _ in known[first : last + 1]:
            for fund, minor in self.came[day].items():
                wished[fund] += minor
        amounts = bank_matching.split(target, wished=wished, held=self.held)
        if amounts is None:
            return None
        self.take(amounts, known[first : last + 1])
        return known[first][0], known[last][0], amounts, first == 0 and len(found) == 1

    def take(self, amounts: dict[int, int], days: list[tuple[date, int]]) -> None:
        self.days = [one for one in self.days if one not in days]
        self.held = {fund: minor - amounts.get(fund, 0) for fund, minor in self.held.items()}


def at_sites(*, today: date) -> AtSites:
    """Return what giving sites hold; what came first was paid out first."""
    held = {fund: minor for (fund, _), minor in now((CLEARING,)).items()}
    came: dict[date, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    rows = Posting.objects.filter(Q(debit=CLEARING) | Q(credit=CLEARING)).exclude(entry__kind=Entry.Kind.PAYOUT)
    rows = rows.filter(entry__on__gte=today - timedelta(days=DAYS_BACK))
    sums = rows.values_list("entry__on", "fund", "debit").annotate(Sum("amount_minor"))
    for on, fund, debit, minor in sums:
        came[on][fund] += minor if debit == CLEARING else -minor
    left, days = sum(held.values()), []
    for on in sorted(came, reverse=True):
        minor = sum(came[on].values())
        if left <= 0:
            break
        days.append((on, min(minor, left)))
        left -= minor
    return AtSites(days=days[::-1], came=came, held=held)
