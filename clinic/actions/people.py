"""Who works here and may do what: adding a person, changing roles, leaving and coming back.

Refusal
+-- NoRole
+-- PartnerAlone
+-- PartnerMissing
+-- SignInTaken
+-- LastManager
+-- PersonLeft
+-- PersonHere
"""

from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction

from clinic.models import Invitation, Partner, PersonChange, RoleHeld, User
from config.refusal import Refusal
from config.roles import Role


class NoRole(Refusal):
    field = "roles"


class PartnerAlone(Refusal):
    field = "roles"


class PartnerMissing(Refusal):
    field = "partner"


class SignInTaken(Refusal):
    field = "sign_in"


class LastManager(Refusal):
    field = "roles"


class PersonLeft(Refusal):
    pass


class PersonHere(Refusal):
    pass


@transaction.atomic
def add(
    *,
    name: str,
    initials: str,
    sign_in: str,
    roles: Iterable[Role],
    partner: Partner | None,
    by: User | None,
    today: date,
    at: datetime,
) -> User:
    """Add a person who cannot sign in yet: an invitation, or a password, opens the door. `by` is None for the first.

    :raises SignInTaken: when somebody has that sign-in name, whatever its case, or had it before leaving.
    :raises NoRole, PartnerAlone, PartnerMissing: when the roles do not go together.
    """
    held = _checked(frozenset(roles), partner)
    if User.objects.filter(sign_in__iexact=sign_in).exists():
        raise SignInTaken(f"Somebody signs in as {sign_in} already. Choose another sign-in name.")
    person = User(name=name, initials=initials, sign_in=sign_in, partner=partner, joined_on=today)
    person.set_unusable_password()
    person.save()
    RoleHeld.objects.bulk_create(RoleHeld(user=person, role=role.value) for role in sorted(held, key=_order))
    note(person=person, what=f"added as {words_of(held)}", by=by or person, at=at)
    return person


@transaction.atomic
def change_roles(*, person: User, roles: Iterable[Role], partner: Partner | None, by: User, at: datetime) -> User:
    """Give and take roles. It takes effect on the person's next click.

    :raises LastManager: when the house would be left without a manager.
    :raises PersonLeft: when the person works here no longer.
    """
    managers = _managers()
    person = User.objects.get(pk=person.pk)
    if not person.is_active:
        raise PersonLeft(f"{person.name} has left. Take {person.name} back first; nothing was changed.")
    held = _checked(frozenset(roles), partner)
    if Role.MANAGER not in held:
        _keep_a_manager(managers, person)
    if held == person.role_set and partner == person.partner:
        return person
    person.roles_held.exclude(role__in=[role.value for role in held]).delete()
    RoleHeld.objects.bulk_create(RoleHeld(user=person, role=role.value) for role in held - person.role_set)
    person.partner = partner
    person.save(update_fields=["partner"])
    note(person=person, what=f"is now {words_of(held)}", by=by, at=at)
    return User.objects.get(pk=person.pk)


@transaction.atomic
def leave(*, person: User, by: User, today: date, at: datetime) -> User:
    """End a person's work here: every session dies at once, open invitations with it; what they wrote stays.

    :raises LastManager: when the house would be left without a manager.
    :raises PersonLeft: when the person had left before.
    """
    managers = _managers()
    person = User.objects.get(pk=person.pk)
    if not person.is_active:
        raise PersonLeft(f"{person.name} left before. Nothing was changed.")
    _keep_a_manager(managers, person)
    person.is_active, person.left_on = False, today
    person.set_unusable_password()  # a session is bound to the password, so this ends every one of them
    person.save(update_fields=["is_active", "left_on", "password"])
    Invitation.objects.filter(user=person, used_at__isnull=True).delete()
    note(person=person, what="left", by=by, at=at)
    return person


@transaction.atomic
def come_back(*, person: User, by: User, at: datetime) -> User:
    """Open the house to somebody who had left, with the roles of before; an invitation must follow.

    :raises PersonHere: when the person never left.
    """
    person = User.objects.select_for_update().get(pk=person.pk)
    if person.is_active:
        raise PersonHere(f"{person.name} works here already. Nothing was changed.")
    person.is_active, person.left_on = True, None
    person.save(update_fields=["is_active", "left_on"])
    note(person=person, what="came back", by=by, at=at)
    return person


def note(*, person: User, what: str, by: User, at: datetime) -> None:
    PersonChange.objects.create(user=person, what=what, by=by, at=at)


def words_of(roles: Iterable[Role]) -> str:
    """Write roles in the house's order: "ward, vet and manager"."""
    *first, last = [role.words for role in sorted(roles, key=_order)]
    return f"{', '.join(first)} and {last}" if first else last


def _order(role: Role) -> int:
    return list(Role).index(role)


def _checked(roles: frozenset[Role], partner: Partner | None) -> frozenset[Role]:
    if not roles:
        raise NoRole("Choose at least one role: without one no page opens.")
    if Role.PARTNER in roles and len(roles) > 1:
        raise PartnerAlone(
            "A partner contact sees its partner's animals and nothing else. Choose only that, or other roles."
        )
    if Role.PARTNER in roles and partner is None:
        raise PartnerMissing("Choose the partner whose animals this contact may see.")
    if Role.PARTNER not in roles and partner is not None:
        raise PartnerMissing(
            "Only a partner contact belongs to a partner. Choose no partner, or the role of a contact."
        )
    return roles


def _managers() -> set[int]:
    """Lock and return the managers who work here, so that two of them cannot remove each other at once."""
    held = RoleHeld.objects.select_for_update(of=("self",)).filter(role=Role.MANAGER.value, user__is_active=True)
    return set(held.order_by("pk").values_list("user_id", flat=True))


def _keep_a_manager(managers: set[int], person: User) -> None:
    if managers == {person.pk}:
        raise LastManager(
            f"{person.name} is the only manager, and a house without one cannot sign off or add people. "
            "Make somebody else manager first; nothing was changed."
        )
