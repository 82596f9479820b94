"""Until when the money that is there today carries a step of a path, if it were begun today and no gift came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from config import charts
from config.charts.drawing import written
from ledger.queries.sharing import SharedSlip


@dataclass(frozen=True, kw_only=True)
class Cover:
    """What is asked and what would be paid by the end of each day, summed from the first day on."""

    asked: tuple[tuple[date, int], ...]
    paid: tuple[tuple[date, int], ...]

    @property
    def runs_out_on(self) -> date | None:
        """The first day of which a part would find no payer; None where all of it is carried."""
        pairs = zip(self.asked, self.paid, strict=True)
        return next((on for (on, asked), (_, paid) in pairs if paid < asked), None)

    @property
    def fails_at_once(self) -> bool:
        return bool(self.asked) and self.runs_out_on == self.asked[0][0]


def cover(*, days: Sequence[int], shared: Sequence[SharedSlip], from_on: date) -> Cover:
    """Sum shared lines by their day, 0 being `from_on`."""
    asked, paid, so_far, met = [], [], 0, 0
    for day in sorted(set(days)):
        today = [one for of, one in zip(days, shared, strict=True) if of == day]
        so_far += sum(one.slip.asked_minor for one in today)
        met += sum(one.slip.asked_minor - one.nobody_minor for one in today)
        asked.append((from_on + timedelta(days=day), so_far))
        paid.append((from_on + timedelta(days=day), met))
    return Cover(asked=tuple(asked), paid=tuple(paid))


def drawn(*, cover: Cover, words: str, digits: int) -> charts.Chart | None:
    """Draw what is asked beside what would be paid, or nothing where the step has no day."""
    if not cover.asked:
        return None
    (last, asked), (_, paid) = cover.asked[-1], cover.paid[-1]
    out = cover.runs_out_on
    return charts.steps(
        name="cover",
        title="What would be paid, day by day",
        desc=f"Begun today, the {words} asks {written(asked, digits)} by {last:%B} {last.day}; "
        f"{written(paid, digits)} of it would be paid.",
        lines=(
            charts.Line(words="would be paid", points=cover.paid),
            *((charts.Line(words="asked", points=cover.asked, kind="possible"),) if out else ()),
        ),
        digits=digits,
        moments=[charts.Moment(on=out, words="the money runs out", kind="alarm")] if out else (),
        between=bool(out),
        caption="Begun today, from the money there today."
        + (" Hatched: what would find no payer." if out else " All of it would be paid."),
    )
