"""Who may consent for an animal, and what its owner has said yes to (F2)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from clinic.models import Animal, Approval, Owner, TreatmentPath
from config.days import day_year


@dataclass(frozen=True)
class OwnerLine:
    """`words` name the owner; `is_said` is false where nobody recorded one and the partner is taken for it."""

    words: str
    detail: str
    partner_id: int | None
    is_said: bool


@dataclass(frozen=True)
class ApprovalLine:
    to: str
    amount_minor: int
    given_by: str
    given_on: date
    how: str
    path_id: int | None
    approval_id: int
    has_paper: bool

    def __str__(self) -> str:
        return f"{self.given_by}, {day_year(self.given_on)}, {self.how}: {self.to}"


def owner_of(*, animal: Animal, on: date) -> OwnerLine:
    """Return the owner on a day: the latest that was recorded, else the partner that brought the animal."""
    row = (
        Owner.objects.filter(animal=animal, from_on__lte=on).select_related("partner").order_by("from_on", "pk").last()
    )
    if row is None:
        partner = animal.partner
        name = partner.name if partner else "The practice"
        return OwnerLine(name, "as it was brought", partner.pk if partner else None, is_said=False)
    if row.kind == Owner.Kind.PARTNER:
        return OwnerLine(row.partner.name, row.words, row.partner_id, is_said=True)
    if row.kind == Owner.Kind.PRACTICE:
        return OwnerLine("The practice", row.words, None, is_said=True)
    until = f"on hold until {day_year(row.until_on)}"
    return OwnerLine("Nobody yet", f"{until}{', ' if row.words else ''}{row.words}", None, is_said=True)


def approvals_of(*, animal: Animal) -> tuple[ApprovalLine, ...]:
    return tuple(_line(row) for row in Approval.objects.filter(animal=animal).order_by("-given_on", "-pk"))


def approvals_of_path(*, path: TreatmentPath) -> tuple[ApprovalLine, ...]:
    """Return the yes to this plan; a changed plan asks anew."""
    return tuple(_line(row) for row in Approval.objects.filter(path=path).order_by("given_on", "pk"))


def _line(row: Approval) -> ApprovalLine:
    return ApprovalLine(
        to=row.words,
        amount_minor=row.amount_minor,
        given_by=row.given_by,
        given_on=row.given_on,
        how=row.get_how_display(),
        path_id=row.path_id,
        approval_id=row.pk,
        has_paper=bool(row.sha256),
    )
