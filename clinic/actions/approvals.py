"""Records who owns an animal, and the owner's yes to a plan and an amount (F2). Nothing here blocks urgent care.

Refusal
└── ApprovalRefused
    ├── OwnerUnclear    a partner without a name, or a hold without an end
    ├── DayAhead        a day that has not come yet
    └── NotTheOwner     somebody of another group said yes on these pages
"""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from clinic.actions import history
from clinic.models import Animal, Approval, Owner, TreatmentPath, User
from clinic.queries.approvals import owner_of
from config.refusal import Refusal
from config.uploads import KeptFile


class ApprovalRefused(Refusal):
    """Nothing was recorded."""


class OwnerUnclear(ApprovalRefused):
    field = "until_on"

    def __init__(self, sentence: str) -> None:
        super().__init__(f"{sentence} Nothing was recorded.")


class DayAhead(ApprovalRefused):
    field = "given_on"

    def __init__(self) -> None:
        super().__init__("That day has not come yet. Nothing was recorded. Write the day on which it was said.")


class NotTheOwner(ApprovalRefused):
    def __init__(self, owner: str) -> None:
        super().__init__(f"{owner} may consent for this animal, and nobody else. Nothing was recorded. Ask them first.")


@transaction.atomic
def say_owner(
    *,
    key: UUID,
    animal: Animal,
    kind: str,
    from_on: date,
    until_on: date | None,
    words: str,
    by: User,
    at: datetime,
) -> Owner:
    """Record who may consent for an animal from a day on; the row before it stays.

    :raises OwnerUnclear: when it is a partner's and the animal has none, or on hold without an end.
    """
    if known := Owner.objects.filter(key=key).first():
        return known
    if kind == Owner.Kind.PARTNER and animal.partner is None:
        raise OwnerUnclear("No rescue partner brought this animal, so none can own it.")
    if kind == Owner.Kind.ON_HOLD and (until_on is None or until_on < from_on):
        raise OwnerUnclear("A hold ends on a day: write which, on or after the day it begins.")
    owner = Owner.objects.create(
        key=key,
        animal=animal,
        kind=kind,
        partner=animal.partner if kind == Owner.Kind.PARTNER else None,
        from_on=from_on,
        until_on=until_on if kind == Owner.Kind.ON_HOLD else None,
        words=words,
        by=by,
        at=at,
    )
    history.note(
        animal=animal, what="owner", what_id=owner.pk, by=by, at=at, after={"owner": kind, "from": str(from_on)}
    )
    return owner


@transaction.atomic
def approve(
    *,
    key: UUID,
    animal: Animal,
    path: TreatmentPath | None,
    words: str,
    amount_minor: int,
    given_by: str,
    given_on: date,
    how: str,
    by: User,
    today: date,
    at: datetime,
    file: KeptFile | None = None,
) -> Approval:
    """Keep the owner's yes: who said it, when, how, to what and up to which amount.

    :raises DayAhead: when the day has not come yet.
    :raises NotTheOwner: when a partner's contact says yes for an animal that is not their group's to decide on.
    """
    if known := Approval.objects.filter(key=key).first():
        return known
    if given_on > today:
        raise DayAhead
    owner = owner_of(animal=animal, on=given_on)
    if how == Approval.How.HERE and (by.partner_id is None or owner.partner_id != by.partner_id):
        raise NotTheOwner(owner.words)
    approval = Approval.objects.create(
        key=key,
        animal=animal,
        path=path,
        words=words,
        amount_minor=amount_minor,
        given_by=given_by,
        given_on=given_on,
        how=how,
        sha256=file.sha256 if file else "",
        content_type=file.content_type if file else "",
        by=by,
        at=at,
    )
    history.note(
        animal=animal, what="approval", what_id=approval.pk, by=by, at=at,
        after={"words": words, "amount_minor": amount_minor, "given_by": given_by},
    )  # fmt: skip
    return approval
