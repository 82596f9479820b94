"""One-time invitations: a link with which a person chooses their own password.

Refusal
+-- InvitedOneLeft
+-- InvitationGone
"""

import hashlib
import secrets
from datetime import datetime, timedelta

from django.db import transaction

from clinic.actions import people
from clinic.models import Invitation, User
from config.refusal import Refusal

LASTS = timedelta(days=7)


class InvitedOneLeft(Refusal):
    pass


class InvitationGone(Refusal):
    pass


@transaction.atomic
def invite(*, person: User, by: User, at: datetime) -> str:
    """Make a link's token, valid for seven days and one use; an earlier one dies. Only its SHA-256 is kept.

    The present password goes on working until the link is used.

    :raises InvitedOneLeft: when the person works here no longer.
    """
    person = User.objects.select_for_update().get(pk=person.pk)
    if not person.is_active:
        raise InvitedOneLeft(f"{person.name} has left. Take {person.name} back first; nothing was made.")
    Invitation.objects.filter(user=person, used_at__isnull=True).delete()
    token = secrets.token_urlsafe(24)
    Invitation.objects.create(user=person, token_sha256=sha256(token), made_at=at, until_at=at + LASTS, made_by=by)
    people.note(person=person, what="invited to choose a password", by=by, at=at)
    return token


@transaction.atomic
def accept(*, token: str, password: str, at: datetime) -> User:
    """Use an invitation: the person's own password opens the door from now on.

    :raises InvitationGone: when the link was used, has run out, was replaced, or never was.
    """
    found = Invitation.objects.select_for_update().filter(token_sha256=sha256(token)).first()
    if found is None or found.used_at is not None or found.until_at <= at or not found.user.is_active:
        raise InvitationGone("This link was used, has run out or was replaced. Ask the manager for a new one.")
    found.used_at = at
    found.save(update_fields=["used_at"])
    person = found.user
    person.set_password(password)
    person.save(update_fields=["password"])
    people.note(person=person, what="chose a password", by=person, at=at)
    return person


def sha256(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
