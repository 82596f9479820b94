"""A treatment path priced from the price list of a day: what each step asks, and the plan that can be computed."""

from __future__ import annotations

from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from clinic.formulas import path_figures, staged_path
from clinic.formulas.path_figures import Figures
from clinic.formulas.running_costs import FrozenSingle
from clinic.models import PathStep, Service, TreatmentPath
from clinic.queries.unit_prices import UnitPrice, UnitPrices
from config.days import day_year
from ledger.formulas import money

Part = PathStep.Part


@dataclass(frozen=True, kw_only=True)
class PricedStep:
    """One step with what it asks of the funds, in minor units, not yet rounded."""

    step: PathStep
    words: str
    procedure_minor: Fraction
    boarding_minor: Fraction  # of one day
    dressing_minor: Fraction  # of one day
    price_words: str
    obstacle: str  # why it cannot be priced; empty when it can

    @property
    def daily_minor(self) -> Fraction:
        return self.boarding_minor + self.dressing_minor

    @property
    def cost_minor(self) -> Fraction:
        return self.procedure_minor + self.step.days * self.daily_minor

    @property
    def as_step(self) -> staged_path.Step:
        return staged_path.Step(cost=self.cost_minor, days=Fraction(self.step.days))


@dataclass(frozen=True, kw_only=True)
class PricedPath:
    """A path's steps in order, priced as of a day."""

    path: TreatmentPath
    operations: tuple[PricedStep, ...]
    after_success: PricedStep
    fallback: PricedStep
    single: PricedStep
    currency: str

    @property
    def left(self) -> tuple[PricedStep, ...]:
        return () if self.has_healed else tuple(one for one in self.operations if not one.step.result)

    @property
    def has_healed(self) -> bool:
        return any(one.step.result == PathStep.Result.HEALED for one in self.operations)

    @property
    def obstacle(self) -> str:
        """Say why nothing can be computed: the first step still to come that has no price."""
        ahead = (*self.left, self.after_success, self.fallback, self.single)
        return next((one.obstacle for one in ahead if one.obstacle), "")

    @property
    def complication_minor(self) -> Fraction:
        step = self.single.step
        return Fraction(step.complication_chance) * _minor(step.complication_cost, self.currency)


def priced(*, path: TreatmentPath, on: date, currency: str) -> PricedPath:
    """Price every step of a path from the price list in force on a day, in three reads."""
    steps = list(path.steps.select_related("service", "level__service", "daily_service").order_by("part", "position"))
    prices = _in_force(_services(steps), on)
    found = [_priced(step, prices, currency) for step in steps]
    by_part = {one.step.part: one for one in found}
    return PricedPath(
        path=path,
        operations=tuple(one for one in found if one.step.part == Part.OPERATION),
        after_success=by_part[Part.AFTER_SUCCESS],
        fallback=by_part[Part.FALLBACK],
        single=by_part[Part.SINGLE],
        currency=currency,
    )


def with_days(*, priced: PricedPath, days: int) -> PricedPath:
    """Return the path as if the next operation took so many days; nothing is written."""
    if not priced.left:
        return priced
    following = priced.left[0]
    step = copy(following.step)
    step.days = days
    changed = replace(following, step=step)
    return replace(priced, operations=tuple(changed if one is following else one for one in priced.operations))


def plan(*, priced: PricedPath) -> staged_path.Plan | None:
    """Return the plan of what lies ahead, or None where no operation is left or a price is missing."""
    if priced.obstacle or not priced.left:
        return None
    return staged_path.Plan(
        operations=tuple(
            staged_path.Operation(
                cost=one.cost_minor, days=Fraction(one.step.days), success=Fraction(one.step.chance or 0)
            )
            for one in priced.left
        ),
        after_success=priced.after_success.as_step,
        fallback=priced.fallback.as_step,
        single=staged_path.Single(
            cost=priced.single.cost_minor,
            days=Fraction(priced.single.step.days),
            complication=Fraction(priced.single.step.complication_chance),
            complication_cost=_minor(priced.single.step.complication_cost, priced.currency),
        ),
    )


def figures(*, priced: PricedPath) -> Figures | None:
    """Return the figures of what lies ahead, or None where there are none."""
    ahead = plan(priced=priced)
    return path_figures.figures(plan=ahead) if ahead else None


def frozen_single(*, priced: PricedPath) -> FrozenSingle:
    return FrozenSingle(
        procedure_minor=priced.single.procedure_minor,
        daily_minor=priced.single.daily_minor,
        days=priced.single.step.days,
        complication_minor=priced.complication_minor,
    )


def _services(steps: Iterable[PathStep]) -> set[int]:
    wanted = {step.service_id for step in steps} | {step.daily_service_id for step in steps}
    wanted |= {step.level.service_id for step in steps if step.level}
    return {service for service in wanted if service}


def _in_force(services: set[int], on: date) -> dict[int, UnitPrice]:
    """Return the prices that can be charged on the day."""
    prices = UnitPrices(services=services, until=on)
    found = {service: prices.on(service, on) for service in services}
    return {service: price for service, price in found.items() if price and not price.obstacle}


def _priced(step: PathStep, prices: dict[int, UnitPrice], currency: str) -> PricedStep:
    boarding, dressing = (step.level.service if step.level else None, step.daily_service) if step.days else (None, None)
    typed = step.typed_cost is not None
    wanted = [None if typed else step.service, boarding, dressing]
    missing = next((service for service in wanted if service and service.pk not in prices), None)

    def asked(service: Service | None) -> Fraction:
        price = prices.get(service.pk) if service else None
        return price.asked * 10 ** money.minor_digits(currency) if price else Fraction(0)

    return PricedStep(
        step=step,
        words=step.service.name if step.service else step.get_part_display(),
        procedure_minor=_minor(step.typed_cost, currency) if typed else asked(step.service),
        boarding_minor=asked(boarding),
        dressing_minor=asked(dressing),
        price_words=_price_words(step, prices),
        obstacle=f"{missing.name} has no price on that day." if missing else "",
    )


def _price_words(step: PathStep, prices: dict[int, UnitPrice]) -> str:
    if step.typed_cost is not None:
        return "typed"
    price = prices.get(step.service_id) if step.service_id else None
    return f"price of {day_year(price.starts_on)}" if price else ""


def _minor(amount: Any, currency: str) -> Fraction:
    return Fraction(amount.amount) * 10 ** money.minor_digits(currency)
