"""Whether the funds can carry one more operation, or the single procedure: shared as signing off today would.

A step is shared as the lines of care that it would become, day after day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID, uuid5

from clinic.models import Service
from clinic.queries.care_kinds import EXPENSE, traits_of
from clinic.queries.path_cover import Cover, cover
from clinic.queries.path_plan import PricedPath, PricedStep
from clinic.queries.plan_keys import plan_key
from ledger.actions.charges import Slip
from ledger.formulas import money
from ledger.queries import balances, sharing

Payer = tuple[int, str, int | None, str, str]  # rank, what it is, its fund, its words and reason


@dataclass(frozen=True, kw_only=True)
class PayerLine:
    words: str
    reason: str
    available_minor: int | None  # None for an agreement, which pays its part of whatever is asked
    pays_minor: int
    left_minor: int | None
    is_agreement: bool


@dataclass(frozen=True, kw_only=True)
class Carried:
    """Who would pay for one step with its days, and what nobody could pay."""

    words: str
    asked_minor: int
    payers: tuple[PayerLine, ...]
    paid_minor: int
    short_minor: int
    left_minor: int  # left in the funds that would pay
    cover: Cover


def carried(*, priced: PricedPath, step: PricedStep, on: date) -> Carried:
    """Share a step of the path over today's payers; nothing is written."""
    days, slips = _lines(priced, step, on)
    shared = sharing.preview(slips=slips, today=on)
    sums: dict[Payer, int] = {}
    for share in (share for one in shared for share in one.shares if share.payer != "nobody"):
        fund_id = share.fund_id if share.payer == "fund" else None
        key = (share.rank, share.payer, fund_id, share.label, share.reason)
        sums[key] = sums.get(key, 0) + share.amount_minor
    there = balances.balances()
    payers = tuple(_payer(key, pays, there) for key, pays in sorted(sums.items(), key=lambda item: item[0][0]))
    return Carried(
        words=step.words,
        asked_minor=sum(one.slip.asked_minor for one in shared),
        payers=payers,
        paid_minor=sum(payer.pays_minor for payer in payers),
        short_minor=sum(one.nobody_minor for one in shared),
        left_minor=sum(payer.left_minor or 0 for payer in payers),
        cover=cover(days=days, shared=shared, from_on=on),
    )


def amounts(*, priced: PricedPath, step: PricedStep, on: date) -> dict[int, int]:
    """Return what each fund would pay of a step with its days today, in minor units by fund: what may be set aside."""
    _, slips = _lines(priced, step, on)
    shared = sharing.preview(slips=slips, today=on)
    sums: dict[int, int] = {}
    for share in (share for one in shared for share in one.shares if share.payer == "fund" and share.fund_id):
        sums[share.fund_id] = sums.get(share.fund_id, 0) + share.amount_minor
    return sums


def _payer(key: Payer, pays_minor: int, there: dict[int, int]) -> PayerLine:
    _, payer, fund_id, label, reason = key
    available = None if fund_id is None else there[fund_id]
    return PayerLine(
        words=label,
        reason=reason,
        available_minor=available,
        pays_minor=pays_minor,
        left_minor=None if available is None else available - pays_minor,
        is_agreement=payer == "agreement",
    )


def _lines(priced: PricedPath, step: PricedStep, on: date) -> tuple[Sequence[int], Sequence[Slip]]:
    """Write the step as the lines of care it would become, each with its day: first the procedure, then each day's.

    What a day asks is rounded so that the days of a line come to what the line asks as a whole.
    """
    said = step.step
    lines = [(0, said.service, money.half_up(step.procedure_minor))] if said.service else []
    level = said.level.service if said.level else None
    for day in range(said.days):
        for service, daily in ((level, step.boarding_minor), (said.daily_service, step.dressing_minor)):
            if service:
                lines.append((day, service, money.half_up(daily * (day + 1)) - money.half_up(daily * day)))
    slips = [_slip(priced, service, asked, on, number) for number, (_, service, asked) in enumerate(lines)]
    return [day for day, _, _ in lines], slips


def _slip(priced: PricedPath, service: Service, asked: int, on: date, number: int) -> Slip:
    animal = priced.path.animal
    return Slip(
        key=uuid5(UUID(priced.path.key), f"ahead {number}"),
        subject_key=animal.key,
        party_key=animal.partner.key if animal.partner else "",
        plan_key=plan_key(priced.path),
        kind=EXPENSE[Service.Kind(service.kind)],
        traits=frozenset(traits_of(animal, service)),
        care_on=on,
        words=service.name,
        quantity=Decimal(1),
        unit=service.unit,
        cost_minor=asked,
        usual_minor=asked,
        asked_minor=asked,
    )
