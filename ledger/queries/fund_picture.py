"""A fund's balance and what of it is available, over time, as a drawing with its table."""

from __future__ import annotations

from datetime import date

from config import charts, home
from config.charts.drawing import written
from ledger.models import FundDay
from ledger.queries.balances import closing_balance
from ledger.queries.funds import FundLine
from ledger.queries.set_aside import SetAside

MOST_POINTS = 62


def picture(*, fund: FundLine, aside: SetAside, from_on: date, to_on: date) -> charts.Chart | None:
    """Draw the closing balances of a period. A long one is drawn by the last closing of each stretch of days."""
    days = FundDay.objects.filter(fund=fund.fund_id, on__gte=from_on, on__lte=to_on).order_by("on")
    closings = dict(days.values_list("on", "closing_minor"))
    if not closings:
        return None
    if fund.opened_on <= from_on and from_on not in closings:
        closings[from_on] = closing_balance(fund_id=fund.fund_id, until=from_on)
    moved = {on for on, _ in aside.changes if min(closings) <= on <= to_on}
    points = _points(closings, moved | {to_on})
    if len(points) < 2:
        return None
    shown = _thinned(points)
    values = [minor for _, minor in points]
    balance = charts.Line(words="balance", points=shown)
    lines = [balance]
    if any(aside.on(on) for on, _ in shown):
        available = tuple((on, minor - aside.on(on)) for on, minor in shown)
        lines.append(charts.Line(words="available", points=available, kind="thin"))
    digits = home.digits()
    return charts.steps(
        name="balance",
        title=f"{fund.name}: balance and what of it is available",
        desc=f"{len(points)} days, between {written(min(values), digits)} and {written(max(values), digits)}.",
        lines=lines,
        between=len(lines) > 1,
        full=True,
        digits=digits,
        caption="Thick line: balance. Thin line: available. Hatched between them: set aside." if len(lines) > 1 else "",
    )


def _points(closings: dict[date, int], more: set[date]) -> list[tuple[date, int]]:
    """Every day on which the balance or what is set aside changed, with the balance that stood."""
    points, standing = [], 0
    for on in sorted(closings.keys() | more):
        standing = closings.get(on, standing)
        points.append((on, standing))
    return points


def _thinned(points: list[tuple[date, int]]) -> tuple[tuple[date, int], ...]:
    step = -(-len(points) // MOST_POINTS)
    kept = points[::-1][::step][::-1]
    return tuple(kept if kept[0] == points[0] else [points[0], *kept])
