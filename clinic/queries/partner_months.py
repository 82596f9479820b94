"""A partner's month on screen, for the partner's own contact: what the statement says, and what they can do (F4)."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass, replace
from datetime import date, timedelta

from clinic.models import House, IssuedPaper, Partner, Stay, TreatmentPath
from clinic.queries import issued_papers
from clinic.queries.approvals import owner_of
from clinic.queries.partner_statement import PartnerStatement, partner_statement
from clinic.queries.standing_papers import stands
from clinic.queries.stationery import stationery_of

MONTHS = 12  # so many are offered, the newest first


@dataclass(frozen=True, kw_only=True)
class PlanToApprove:
    animal_id: int
    animal: str
    plan: str


@dataclass(frozen=True, kw_only=True)
class PartnerMonth:
    statement: PartnerStatement
    issued: IssuedPaper | None
    has_changed: bool  # the books say something else by now than the paper that was issued
    before: date | None
    after: date | None
    plans: tuple[PlanToApprove, ...]


def partner_months(*, partner: Partner, today: date) -> tuple[date, ...]:
    """Return the first days of the months that a contact may read, the newest first."""
    begun, month, found = _begun(partner, today), today.replace(day=1), []
    while len(found) < MONTHS and month >= begun:
        found.append(month)
        month = _before(month)
    return tuple(found)


def partner_month(*, partner: Partner, on: date, today: date, house: House) -> PartnerMonth | None:
    """Return the month of a day as its statement says it; None before their first animal came, or to come.

    While the paper issued for it says the same, it is read under that paper's number.
    """
    first, begun = on.replace(day=1), _begun(partner, today)
    if not begun <= first <= today:
        return None
    last = first.replace(day=monthrange(first.year, first.month)[1])
    paper = issued_papers.standing(donor_id=None, partner=partner, from_on=first, to_on=last)
    issued = paper if paper and stands(paper) else None
    signer = issued.issued_by.name if issued else ""
    said = {"stationery": stationery_of(house), "signer": signer, "issued_on": today}
    statement = partner_statement(partner=partner, from_on=first, to_on=min(last, today), **said)
    same = issued is not None and issued.facts["sums"] == statement.sums()
    if issued and same:
        corrects = issued_papers.corrected(issued.replaces)
        statement = replace(statement, number=str(issued.number), corrects=corrects, issued_on=issued.issued_on)
    return PartnerMonth(
        statement=statement,
        issued=issued,
        has_changed=issued is not None and not same,
        before=_before(first) if first > begun else None,
        after=last + timedelta(days=1) if last < today else None,
        plans=_plans(partner, today),
    )


def _begun(partner: Partner, today: date) -> date:
    """The first day of the month in which their first animal came."""
    came = Stay.objects.filter(animal__partner=partner).order_by("admitted_on").values_list("admitted_on", flat=True)
    return (came.first() or today).replace(day=1)


def _before(month: date) -> date:
    return (month - timedelta(days=1)).replace(day=1)


def _plans(partner: Partner, on: date) -> tuple[PlanToApprove, ...]:
    """The open plans of the partner's animals to which it may say yes and has not."""
    paths = TreatmentPath.objects.filter(animal__partner=partner, ended_on=None, approvals=None)
    return tuple(
        PlanToApprove(animal_id=path.animal_id, animal=path.animal.name or path.animal.number, plan=path.name)
        for path in paths.select_related("animal__partner").order_by("animal__name", "pk")
        if owner_of(animal=path.animal, on=on).partner_id == partner.pk
    )
