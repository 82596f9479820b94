"""One animal as its partner's contact reads it: the plan to agree to, who paid, and what they disputed (F4)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from clinic.models import Animal, House, TreatmentPath
from clinic.queries import approvals, disputes
from clinic.queries.approvals import ApprovalLine, OwnerLine
from clinic.queries.case_summary import CaseSummary, case_summary
from clinic.queries.disputes import DisputeLine
from clinic.queries.who_paid import WhoPaid
from ledger.queries.subject_money import SharedLine


@dataclass(frozen=True, kw_only=True)
class SaidOfLine:
    """A dispute with the line it is about; None where the line is not of the days that are read."""

    dispute: DisputeLine
    line: SharedLine | None


@dataclass(frozen=True, kw_only=True)
class YourAnimal:
    paid: WhoPaid
    plan: CaseSummary | None
    approved: tuple[ApprovalLine, ...]  # of the open plan, the newest first
    approved_before: tuple[ApprovalLine, ...]  # of earlier plans, or of care without a plan
    owner: OwnerLine
    disputed: frozenset[int]
    said: tuple[SaidOfLine, ...]


def your_animal(*, animal: Animal, path: TreatmentPath | None, paid: WhoPaid, on: date, house: House) -> YourAnimal:
    """Return what the contact reads; the plan's figures are those of the case summary that owners are sent."""
    given = approvals.approvals_of(animal=animal)
    return YourAnimal(
        paid=paid,
        plan=case_summary(path=path, on=on, house=house) if path else None,
        approved=tuple(one for one in given if path and one.path_id == path.pk),
        approved_before=tuple(one for one in given if not path or one.path_id != path.pk),
        owner=approvals.owner_of(animal=animal, on=on),
        disputed=disputes.disputed(numbers=[line.entry_number for line in paid.money.lines]),
        said=tuple(_said(animal, paid.money.lines)),
    )


def _said(animal: Animal, lines: Iterable[SharedLine]):
    of = {line.entry_number: line for line in lines}
    for one in disputes.disputes_of(partner=animal.partner, animal=animal):
        yield SaidOfLine(dispute=one, line=of.get(one.entry_number))
