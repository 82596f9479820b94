"""The drawings that the page of parts shows: an invented season of an invented house."""

from dataclasses import dataclass
from datetime import date, timedelta

from config import charts

TODAY = date(2026, 10, 14)


@dataclass(frozen=True)
class Parts:
    running: charts.Chart
    balance: charts.Chart
    money: charts.Chart
    care: charts.Chart
    flow: charts.Chart
    run: charts.Chart
    species: tuple[str, ...] = ("dog", "cat", "rabbit", "bird", "hedgehog", "guinea pig", "tortoise")


def parts() -> Parts:
    return Parts(running=_running(), balance=_balance(), money=_money(), care=_care(), flow=_flow(), run=_run())


def _run() -> charts.Chart:
    pieces = [n not in (97, 204) if n < 312 else None for n in range(500)]
    return charts.strokes(name="run", title="312 of 500 made", pieces=pieces, word="paper")


def _running() -> charts.Chart:
    start = date(2026, 8, 19)
    staged, total = [], 0
    for n in range(56):
        total += 4450 + (96_000 if n in (1, 27) else 0)
        staged.append((start + timedelta(days=n), total))
    single = [(start + timedelta(days=n), min(145_000 + 3_650 * n, 199_700)) for n in range(16)]
    ahead = [
        (TODAY, total),
        (TODAY + timedelta(days=1), total + 158_000),
        (TODAY + timedelta(days=18), total + 200_000),
    ]
    return charts.steps(
        name="running",
        title="Running cost by day",
        desc="The staged path as it went, against the single procedure, finished on September 3.",
        lines=[
            charts.Line(words="as it went", points=tuple(staged)),
            charts.Line(words="single procedure", points=(*single, (TODAY, 199_700)), kind="possible"),
            charts.Line(words="if we go on", points=tuple(ahead), kind="possible"),
        ],
        moments=[
            charts.Moment(on=start + timedelta(days=1), words="decision"),
            charts.Moment(on=start + timedelta(days=27), words="decision"),
            charts.Moment(on=TODAY - timedelta(days=1), words="review reached", kind="alarm"),
            charts.Moment(on=TODAY + timedelta(days=18), words="review", kind="ahead"),
        ],
        today=TODAY,
        digits=2,
        caption="Ink is what happened, pencil what may.",
    )


def _balance() -> charts.Chart:
    start, balance, held = date(2026, 4, 1), 184_000, 0
    upper, lower = [], []
    for n in range(197):
        balance -= 900 + (n * 7919) % 1500
        balance += {30: 90_000, 75: 60_000, 106: 96_500, 150: 128_000, 179: 114_000}.get(n, 0)
        balance = max(balance, 4_000)
        held = {0: 0, 60: 40_000, 90: 0, 120: 30_000, 150: 76_000, 180: 87_690}.get(n, held)
        upper.append((start + timedelta(days=n), balance))
        lower.append((start + timedelta(days=n), balance - min(held, balance)))
    return charts.steps(
        name="balance",
        title="Brindle Yard fund: balance and available",
        desc="Balance and available money, April 1 to October 14.",
        lines=[
            charts.Line(words="balance", points=tuple(upper)),
            charts.Line(words="available", points=tuple(lower), kind="thin"),
        ],
        moments=[charts.Moment(on=date(2026, 8, 26), words="nearly empty", kind="alarm")],
        between=True,
        full=True,
        digits=2,
        caption="Thick line: balance. Thin line: available. Hatched between them: set aside for treatment plans.",
    )


def _money() -> charts.Chart:
    return charts.bars(
        name="money",
        title="Money available, by fund",
        desc="Seven funds; three of them are empty.",
        rows=[
            charts.Bar(words="Brindle Yard fund", amount_minor=36_208, set_aside_minor=87_690),
            charts.Bar(words="Surgery fund", amount_minor=74_610),
            charts.Bar(words="Nine Lantern fund", amount_minor=38_804),
            charts.Bar(words="Wound fund", amount_minor=15_790),
            charts.Bar(words="Bracken’s leg", amount_minor=0, empty="empty"),
            charts.Bar(words="Hedge & Hollow fund", amount_minor=0, empty="empty"),
            charts.Bar(words="General fund", amount_minor=0, empty="empty"),
        ],
        heads=("Fund", "Available", "Set aside"),
        digits=2,
        caption="Balance less what is set aside for plans; hatched: set aside.",
    )


def _care() -> charts.Chart:
    nights = [
        charts.Night(on=TODAY - timedelta(days=30 - n), counts=(3 + n // 12, 1 + n // 5, max(0, n // 8 - 1)))
        for n in range(30)
    ]
    return charts.occupancy(
        name="care",
        title="In care, by night",
        desc="One mark for each animal: filled square a dog, open square a cat, dot a small animal; of 18 places.",
        nights=nights,
        kinds=("dogs", "cats", "small animals"),
        places=18,
    )


def _flow() -> charts.Chart:
    targets = [
        charts.Target(words="Thimble", species="hedgehog"),
        charts.Target(words="Button", species="guinea pig"),
        charts.Target(words="Rook", species="dog"),
        charts.Target(words="Tamsin", species="cat"),
        charts.Target(words="Admiral", species="duck"),
        charts.Target(words="Parsnip", species="rabbit"),
        charts.Target(words="Giving-site fees", kind="fee"),
        charts.Target(words="Not yet spent", kind="waiting"),
    ]
    given = [
        (12_000, "April 22", "General fund", (8955, 2667, 0, 0, 0, 0, 378, 0)),
        (15_000, "June 30", "Wound fund", (0, 0, 8750, 3875, 750, 1625, 0, 0)),
        (25_000, "August 27", "Small animals", (9000, 0, 0, 0, 0, 15_245, 755, 0)),
        (12_000, "September 21", "General fund", (0, 0, 0, 0, 0, 0, 0, 12_000)),
    ]
    return charts.flow(
        name="flow",
        title="How your gifts reached the animals",
        desc="Four gifts on the left, together 640.00; lines of five dollars each run to what they paid for.",
        gifts=[charts.Source(amount_minor=a, when=when, fund=fund, to=to) for a, when, fund, to in given],
        targets=targets,
        digits=2,
    )
