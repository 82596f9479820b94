"""The pictures of the board's first page: money in and out, animals by night, funds, and what the clinic gave."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.queries.cost_report import GivenLine
from clinic.queries.occupancy import nights_spent
from config import charts
from config.charts.drawing import written
from ledger.formulas import money
from ledger.queries.roll_forward import RollForward
from ledger.queries.running_money import RunningMoney

FUNDS_SHOWN = 9


@dataclass(frozen=True, kw_only=True)
class Pictures:
    money: charts.Chart
    nights: charts.Chart
    funds: charts.Chart
    given: charts.Chart


def pictures(
    *, running: RunningMoney, roll: RollForward, given: GivenLine, first: date, last: date, currency: str
) -> Pictures:
    digits = money.minor_digits(currency)
    return Pictures(
        money=_money(running, digits),
        nights=_nights(first, last),
        funds=_funds(roll, digits),
        given=_given(given, digits),
    )


def _money(running: RunningMoney, digits: int) -> charts.Chart:
    came, went = (written(minor, digits) for minor in (running.came_minor, running.went_minor))
    return charts.steps(
        name="board-money",
        title="What came in, and what was spent",
        desc=f"Over the period {came} came in and {went} was spent, summed day by day.",
        lines=(
            charts.Line(words="came in", points=running.came),
            charts.Line(words="was spent", points=running.went, kind="thin"),
        ),
        digits=digits,
        caption="Summed from the first day on, by book date; donated services and goods are in neither.",
    )


def _nights(first: date, last: date) -> charts.Chart:
    counted = [(night.on, sum(night.counts)) for night in nights_spent(first=first, last=last)]
    points = [
        (on, there)
        for number, (on, there) in enumerate(counted)
        if number in (0, len(counted) - 1) or there != counted[number - 1][1]
    ]
    return charts.steps(
        name="board-nights",
        title="Animals in the ward, by night",
        desc=f"From {points[0][1]} on the first night to {points[-1][1]} on the last.",
        lines=(charts.Line(words="in the ward", points=tuple(points)),),
        digits=0,
        caption="Each animal that spent the night counts once.",
    )


def _funds(roll: RollForward, digits: int) -> charts.Chart:
    held = sorted((*roll.free.lines, *roll.restricted.lines), key=lambda line: -line.closing_minor)
    rows = [charts.Bar(words=line.name, amount_minor=line.closing_minor, empty="empty") for line in held[:FUNDS_SHOWN]]
    if rest := held[FUNDS_SHOWN:]:
        rows.append(charts.Bar(words=f"{len(rest)} others", amount_minor=sum(line.closing_minor for line in rest)))
    return charts.bars(
        name="board-funds",
        title="What the funds hold at the end",
        desc="One bar for each fund that held or moved money, the fullest first.",
        rows=rows,
        heads=("Fund", "At the end"),
        digits=digits,
    )


def _given(given: GivenLine, digits: int) -> charts.Chart:
    parts = (("discount", given.discount_minor), ("unpaid time", given.time_minor), ("taken over", given.taken_minor))
    return charts.bars(
        name="board-given",
        title="What the clinic gave",
        desc=f"Together {written(given.given_minor, digits)}, in three lines that are never mixed.",
        rows=[charts.Bar(words=words, amount_minor=minor) for words, minor in parts],
        heads=("Given as", "Amount"),
        digits=digits,
    )
