"""Who works here: the list, and one person's page."""

from dataclasses import dataclass
from datetime import date, datetime

from clinic.models import Invitation, PersonChange, User
from config.roles import Role


@dataclass(frozen=True)
class PersonRow:
    id: int
    name: str
    initials: str
    sign_in: str
    roles: str
    partner: str
    state: str


@dataclass(frozen=True)
class People:
    here: tuple[PersonRow, ...]
    left: tuple[PersonRow, ...]


@dataclass(frozen=True)
class ChangeLine:
    at: datetime
    what: str
    by: str


@dataclass(frozen=True)
class Person:
    row: PersonRow
    roles: tuple[Role, ...]
    partner_id: int | None
    is_here: bool
    joined_on: date | None
    left_on: date | None
    invited_until: datetime | None
    changes: tuple[ChangeLine, ...]


@dataclass(frozen=True)
class Invited:
    name: str
    sign_in: str
    until_at: datetime


def people(*, at: datetime) -> People:
    """Return everybody by name, those who left apart."""
    open_until = dict(Invitation.objects.filter(used_at__isnull=True).values_list("user_id", "until_at"))
    found = list(User.objects.select_related("partner").prefetch_related("roles_held").order_by("name", "pk"))
    rows = [(person.is_active, _row(person, open_until.get(person.pk), at)) for person in found]
    return People(
        here=tuple(row for is_here, row in rows if is_here), left=tuple(row for is_here, row in rows if not is_here)
    )


def person(*, person_id: int, at: datetime) -> Person | None:
    """Return one person with the history of their place in the house, or None."""
    found = User.objects.select_related("partner").prefetch_related("roles_held").filter(pk=person_id).first()
    if found is None:
        return None
    until = Invitation.objects.filter(user=found, used_at__isnull=True).values_list("until_at", flat=True).first()
    changes = PersonChange.objects.filter(user=found).select_related("by").order_by("-at", "-pk")
    return Person(
        row=_row(found, until, at),
        roles=tuple(role for role in Role if role in found.role_set),
        partner_id=found.partner_id,
        is_here=found.is_active,
        joined_on=found.joined_on,
        left_on=found.left_on,
        invited_until=until if until and until > at else None,
        changes=tuple(ChangeLine(at=change.at, what=change.what, by=change.by.name) for change in changes),
    )


def invited(*, token_sha256: str, at: datetime) -> Invited | None:
    """Return whom an open invitation is for, or None when it is used, past or unknown."""
    found = (
        Invitation.objects.select_related("user")
        .filter(token_sha256=token_sha256, used_at__isnull=True, until_at__gt=at, user__is_active=True)
        .first()
    )
    return Invited(found.user.name, found.user.sign_in, found.until_at) if found else None


def _row(found: User, invited_until: datetime | None, at: datetime) -> PersonRow:
    return PersonRow(
        id=found.pk,
        name=found.name,
        initials=found.initials,
        sign_in=found.sign_in,
        roles=", ".join(role.words for role in Role if role in found.role_set),
        partner=found.partner.name if found.partner else "",
        state=_state(found, invited_until, at),
    )


def _state(found: User, invited_until: datetime | None, at: datetime) -> str:
    if not found.is_active:
        return "left"
    if found.has_usable_password():
        return "signs in"
    if invited_until is None:
        return "not invited yet"
    return "invited" if invited_until > at else "invitation has run out"
