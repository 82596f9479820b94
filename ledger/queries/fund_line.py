"""A restricted fund's closing balances since a day, as they stand while a batch is being shared."""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Iterable
from datetime import date

from django.db.models import OuterRef, Subquery

from ledger.models import FundDay


class FundLine:
    """Closing balances in order of date; spending lowers every later one."""

    def __init__(self, before_minor: int) -> None:
        self._days: list[tuple[date, int]] = [(date.min, before_minor)]

    def add(self, on: date, closing_minor: int) -> None:
        insort(self._days, (on, closing_minor))

    def lowest_since(self, on: date) -> int:
        """Return the least that the fund held on that day or on any day after it."""
        first = bisect_right(self._days, on, key=lambda day: day[0]) - 1
        return min(closing for _, closing in self._days[first:])

    def spend(self, on: date, amount_minor: int) -> None:
        at = bisect_right(self._days, on, key=lambda day: day[0])
        if self._days[at - 1][0] != on:
            self._days.insert(at, (on, self._days[at - 1][1]))
        self._days = [(day, closing - amount_minor if day >= on else closing) for day, closing in self._days]


def lines_since(*, fund_ids: Iterable[int], since: date) -> dict[int, FundLine]:
    ids = list(fund_ids)
    earlier = FundDay.objects.filter(fund=OuterRef("fund"), on__lt=since).order_by("-on").values("closing_minor")[:1]
    before = dict(
        FundDay.objects.filter(fund_id__in=ids)
        .values("fund")
        .distinct()
        .annotate(before=Subquery(earlier))
        .values_list("fund", "before")
    )
    lines = {fund_id: FundLine(before.get(fund_id) or 0) for fund_id in ids}
    days = FundDay.objects.filter(fund_id__in=ids, on__gte=since).order_by("on")
    for fund_id, on, closing in days.values_list("fund_id", "on", "closing_minor"):
        lines[fund_id].add(on, closing)
    return lines
