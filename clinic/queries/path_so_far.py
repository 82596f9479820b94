"""What a path has come to since the ways parted, beside what the single procedure would have come to."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clinic.formulas import path_figures, running_costs
from clinic.models import House, PathDecision, PathEvent, TreatmentPath
from clinic.queries.path_plan import PricedPath
from clinic.queries.plan_keys import plan_key, plans_of
from clinic.queries.unsigned_care import UnsignedLine, unsigned_care
from config import charts
from config.charts.drawing import written
from ledger.formulas import money
from ledger.formulas.slips import CARE_KINDS
from ledger.queries import charges
from ledger.queries.charges import ChargeLine

REASONS = {
    "animal": "names this animal",
    "agreement": "by agreement",
    "purpose": "purpose fits",
    "partner": "the partner's fund",
    "general": "general money",
}
ORDER = tuple(REASONS)


@dataclass(frozen=True, kw_only=True)
class KindLine:
    words: str
    cost_minor: int
    usual_minor: int
    asked_minor: int
    unsigned_minor: int


@dataclass(frozen=True, kw_only=True)
class PayerLine:
    words: str
    reason: str
    amount_minor: int


@dataclass(frozen=True, kw_only=True)
class SoFar:
    """Amounts are what was asked of the funds, by day of care, from the day on which the ways parted."""

    parted_on: date
    days: int
    asked_minor: int  # signed off and not yet, together
    unsigned_minor: int
    before_minor: int  # care from before the ways parted
    single_minor: int
    single_ends_on: date
    single_is_over: bool
    more_minor: int  # the path less the single procedure, by today
    is_dearer: bool
    apart_minor: int  # the same without its sign
    kinds: tuple[KindLine, ...]
    kinds_sum: KindLine
    payers: tuple[PayerLine, ...]
    went: running_costs.Points  # the path as it went, by day
    chart: charts.Chart

    @property
    def payers_sum_minor(self) -> int:
        return sum(payer.amount_minor for payer in self.payers)

    @property
    def everything_minor(self) -> int:
        """All care of the animal, from before the ways parted on."""
        return self.before_minor + self.asked_minor

    @property
    def signed_minor(self) -> int:
        return self.everything_minor - self.unsigned_minor


def so_far(*, priced: PricedPath, decisions: Sequence[PathDecision], on: date, house: House) -> SoFar | None:
    """Return the two running lines and their sums, or None while nobody has chosen the path.

    What a complication takes after the path has ended is its own too: it is charged under the path's key.
    """
    path = priced.path
    if path.parted_on is None or not decisions:
        return None
    until = min(on, path.ended_on or on)
    single = path_figures.kept_single(kept=decisions[0].figures)
    signed, unsigned = _care(priced, until, on, house)
    by_day: dict[date, int] = defaultdict(int)
    for line in signed:
        by_day[line.care_on] += line.asked_minor
    for waiting in unsigned:
        by_day[waiting.on] += waiting.asked_minor
    until = max([until, *by_day])
    went = running_costs.running_line(by_day=by_day, parted_on=path.parted_on, until=until)
    would = running_costs.single_line(single=single, parted_on=path.parted_on, until=until)
    asked, instead = went[-1][1], would[-1][1]
    ends_on = date.fromordinal(path.parted_on.toordinal() + max(single.days - 1, 0))
    kinds = _kinds(signed, unsigned)
    return SoFar(
        parted_on=path.parted_on,
        days=(until - path.parted_on).days + 1,
        asked_minor=asked,
        unsigned_minor=sum(line.asked_minor for line in unsigned),
        before_minor=_before(path, path.parted_on),
        single_minor=instead,
        single_ends_on=ends_on,
        single_is_over=ends_on <= until,
        more_minor=asked - instead,
        is_dearer=asked > instead,
        apart_minor=abs(asked - instead),
        kinds=kinds,
        kinds_sum=_together(kinds),
        payers=_payers(signed),
        went=went,
        chart=_chart(priced, decisions, went, would, until),
    )


def _care(
    priced: PricedPath, until: date, on: date, house: House
) -> tuple[tuple[ChargeLine, ...], tuple[UnsignedLine, ...]]:
    """Return what is signed off and what is not yet: all care while the path lasts, then what it caused."""
    path = priced.path
    animal, after = path.animal, until + timedelta(days=1)
    signed = charges.of_subject(subject_key=animal.key, from_on=path.parted_on, until_on=until).lines
    since = max(path.parted_on or until, house.opening_on)
    unsigned = unsigned_care(animal=animal, since=since, until=until, currency=priced.currency)
    if after <= on:
        key = plan_key(path)
        later = charges.of_subject(subject_key=animal.key, plan_key=key, from_on=after, until_on=on).lines
        events = PathEvent.objects.filter(path__in=plans_of(path), care_item__on__gte=after)
        caused = set(events.values_list("care_item__on", "care_item__service__name"))
        signed += tuple(line for line in later if (line.care_on, line.words) in caused)
        unsigned += unsigned_care(animal=animal, since=after, until=on, currency=priced.currency, path_key=key)
    return signed, unsigned


def _before(path: TreatmentPath, parted_on: date) -> int:
    """Return what care from before the ways parted asked; it stands apart and is counted in neither line."""
    return charges.of_subject(subject_key=path.animal.key, until_on=parted_on - timedelta(days=1)).together.asked_minor


def _kinds(signed: Sequence[ChargeLine], unsigned: Sequence[UnsignedLine]) -> tuple[KindLine, ...]:
    waiting: dict[str, list[UnsignedLine]] = defaultdict(list)
    for line in unsigned:
        waiting[line.kind].append(line)
    found: dict[str, list[ChargeLine]] = defaultdict(list)
    for charge in signed:
        found[charge.kind].append(charge)
    return tuple(
        KindLine(
            words=code.replace("_", " ").capitalize(),
            cost_minor=sum(one.cost_minor for one in (*found[code], *waiting[code])),
            usual_minor=sum(one.usual_minor for one in (*found[code], *waiting[code])),
            asked_minor=sum(one.asked_minor for one in (*found[code], *waiting[code])),
            unsigned_minor=sum(one.asked_minor for one in waiting[code]),
        )
        for code in CARE_KINDS
        if code in found or code in waiting
    )


def _together(kinds: tuple[KindLine, ...]) -> KindLine:
    return KindLine(
        words="Together",
        cost_minor=sum(kind.cost_minor for kind in kinds),
        usual_minor=sum(kind.usual_minor for kind in kinds),
        asked_minor=sum(kind.asked_minor for kind in kinds),
        unsigned_minor=sum(kind.unsigned_minor for kind in kinds),
    )


def _payers(signed: Sequence[ChargeLine]) -> tuple[PayerLine, ...]:
    sums: dict[tuple[int, str, str], int] = defaultdict(int)
    for payer in (payer for line in signed for payer in line.payers):
        rank = ORDER.index(payer.fund_kind) if payer.fund_kind in ORDER else len(ORDER)
        sums[rank, payer.label, REASONS.get(payer.fund_kind, "")] += payer.amount_minor
    return tuple(
        PayerLine(words=words, reason=reason, amount_minor=amount)
        for (_, words, reason), amount in sorted(sums.items(), key=lambda item: item[0][0])
        if amount
    )


def _chart(priced: PricedPath, decisions: Sequence[PathDecision], went, would, until: date) -> charts.Chart:
    digits = money.minor_digits(priced.currency)
    asked, instead = (written(line[-1][1], digits) for line in (went, would))
    moments = [charts.Moment(on=one.decided_on, words="decision") for one in decisions if one.decided_on <= until]
    moments += [
        charts.Moment(on=one.step.done_on, words=f"operation {one.step.position}")
        for one in priced.operations
        if one.step.done_on
    ]
    return charts.steps(
        name="running-cost",
        title="Running cost by day",
        desc=f"The path as it went, {asked} by {until:%B} {until.day}; the single procedure, {instead} by then.",
        lines=(
            charts.Line(words="as it went", points=went),
            charts.Line(words="single procedure", points=would, kind="possible"),
        ),
        digits=digits,
        moments=sorted(moments, key=lambda moment: moment.on),
        today=until,
        caption="Ink is what happened, pencil what might have. The single procedure as priced when the ways parted.",
    )
