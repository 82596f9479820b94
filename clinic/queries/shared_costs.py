"""The shared costs in force on a day, step by step, and what each boarding day and theater minute carries of them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from clinic.formulas import shared_costs
from clinic.formulas.shared_costs import SteppedDown
from clinic.models import CostBase, CostCenter, SharedYear
from clinic.queries.written import FINER, at_least, shown
from ledger.formulas import money
from ledger.queries import holder


@dataclass(frozen=True)
class Rates:
    """What one boarding day and one theater minute carry, exactly, from a day on."""

    starts_on: date
    boarding_day: Fraction
    theater_minute: Fraction


@dataclass(frozen=True)
class ShareLine:
    name: str
    over: str
    amount_minor: int


@dataclass(frozen=True)
class StepLine:
    """One service closed: its own cost, what it got from those before it, and whom it goes to."""

    number: int
    service: str
    own_minor: int
    got_minor: int
    cost_minor: int
    over: str
    rate: Decimal
    shares: tuple[ShareLine, ...]


@dataclass(frozen=True)
class EndLine:
    """What is left at the end: the ward, or the theater."""

    name: str
    own_minor: int
    got_minor: int
    cost_minor: int
    units: int
    over: str
    each: Decimal
    each_minor: int


@dataclass(frozen=True)
class SharedCosts:
    on: date
    starts_on: date
    set_by: str
    next_on: date | None
    steps: tuple[StepLine, ...]
    ends: tuple[EndLine, ...]
    in_minor: int
    out_minor: int


def shared_costs_of(*, on: date) -> SharedCosts | None:
    """Return the sharing in force on `on` with every step; None where there was none yet."""
    year = SharedYear.objects.filter(starts_on__lte=on).select_related("set_by").order_by("starts_on").last()
    if year is None:
        return None
    centers, done = _shared(year)
    currency = holder.holder().currency

    def minor(exact: Fraction) -> int:
        return money.to_minor(exact, currency)

    digits = money.minor_digits(currency)
    own = {center.name: Fraction(center.yearly_cost.amount) for center in centers}
    return SharedCosts(
        on=on,
        starts_on=year.starts_on,
        set_by=year.set_by.name,
        next_on=SharedYear.objects.filter(starts_on__gt=on)
        .order_by("starts_on")
        .values_list("starts_on", flat=True)
        .first(),
        steps=tuple(
            StepLine(
                number=number,
                service=step.service,
                own_minor=minor(own[step.service]),
                got_minor=minor(step.cost - own[step.service]),
                cost_minor=minor(step.cost),
                over=_written(step.base),
                rate=at_least(step.rate, digits, FINER),
                shares=tuple(ShareLine(share.name, _written(share.base), minor(share.amount)) for share in step.shares),
            )
            for number, step in enumerate(done.steps, start=1)
        ),
        ends=tuple(_end(center, year, done, minor, digits) for center in centers if center.kind != SERVICE),
        in_minor=minor(sum(own.values(), Fraction(0))),
        out_minor=minor(sum(done.costs.values(), Fraction(0))),
    )


SERVICE = CostCenter.Kind.SERVICE


def _end(center: CostCenter, year: SharedYear, done: SteppedDown, minor, digits: int) -> EndLine:
    cost, own = done.costs[center.name], Fraction(center.yearly_cost.amount)
    units = year.boarding_days if center.kind == CostCenter.Kind.WARD else year.theater_minutes
    each = shared_costs.per_unit(cost=cost, units=units, words=center.name)
    return EndLine(
        name=center.name,
        own_minor=minor(own),
        got_minor=minor(cost - own),
        cost_minor=minor(cost),
        units=units,
        over=_written(Fraction(units)),
        each=at_least(each, digits, FINER),
        each_minor=minor(each),
    )


def _written(base: Fraction) -> str:
    return f"{shown(base, 3):,f}"


def rates(*, until: date) -> tuple[Rates, ...]:
    """Return what a boarding day and a theater minute carry in each year that began by `until`, in their order."""
    found = []
    for year in SharedYear.objects.filter(starts_on__lte=until).order_by("starts_on"):
        centers, done = _shared(year)
        cost = {center.kind: done.costs[center.name] for center in centers if center.kind != SERVICE}
        found.append(
            Rates(
                year.starts_on,
                shared_costs.per_unit(cost=cost["ward"], units=year.boarding_days, words="the ward"),
                shared_costs.per_unit(cost=cost["theater"], units=year.theater_minutes, words="the theater"),
            )
        )
    return tuple(found)


def _shared(year: SharedYear) -> tuple[list[CostCenter], SteppedDown]:
    centers = list(year.centers.order_by("position"))
    bases: dict[str, dict[str, Fraction]] = defaultdict(dict)
    for service, user, base in (
        CostBase.objects.filter(service__year=year).order_by("pk").values_list("service__name", "user__name", "base")
    ):
        bases[service][user] = Fraction(base)
    done = shared_costs.step_down(
        costs={center.name: Fraction(center.yearly_cost.amount) for center in centers},
        order=[center.name for center in centers if center.kind == SERVICE],
        bases=bases,
    )
    return centers, done
