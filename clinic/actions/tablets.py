"""The ward's shared tablets: enrolled, revoked, and changed from person to person by initials and a short code (J2).

Refusal
+-- TabletNamedAlready
+-- CodeTooEasy
+-- CodeTaken
+-- NotOfTheWard
+-- TooManyWrong
"""

import secrets
from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction

from clinic.actions import people
from clinic.actions.invitations import sha256
from clinic.models import ShortCode, Tablet, User, WrongCode
from config.refusal import Refusal
from config.roles import CARE

RESTS = timedelta(minutes=15)
MOST_WRONG, MOST_WRONG_HERE = 5, 20  # for one person's initials, and for all on one tablet
ONE_STEP = {1, -1, 0}


class TabletNamedAlready(Refusal):
    field = "words"


class CodeTooEasy(Refusal):
    field = "code"


class CodeTaken(Refusal):
    field = "code"


class NotOfTheWard(Refusal):
    pass


class TooManyWrong(Refusal):
    pass


@transaction.atomic
def enroll(*, words: str, by: User, at: datetime) -> str:
    """Take a device into the ward and return its secret, which that device alone keeps.

    :raises TabletNamedAlready: when another tablet that stands has this name.
    """
    if Tablet.objects.filter(words=words, revoked_at__isnull=True).exists():
        raise TabletNamedAlready(f"A tablet is called {words} already. Give this one another name.")
    secret = secrets.token_urlsafe(32)
    Tablet.objects.create(words=words, secret_sha256=sha256(secret), enrolled_by=by, enrolled_at=at)
    return secret


@transaction.atomic
def revoke(*, tablet: Tablet, by: User, at: datetime) -> Tablet:
    """Close a tablet at once, for whoever is signed in on it too; doing so again changes nothing."""
    if tablet.revoked_at is None:
        tablet.revoked_at, tablet.revoked_by = at, by
        tablet.save(update_fields=["revoked_at", "revoked_by"])
    return tablet


@transaction.atomic
def set_code(*, person: User, code: str, at: datetime) -> ShortCode:
    """Let a person choose the code by which they change on a tablet; an earlier one dies.

    :raises NotOfTheWard: when none of their roles writes on the ward sheet.
    :raises CodeTooEasy: when the code is one digit repeated, or digits in a row.
    :raises CodeTaken: when somebody with the same initials has it: initials and code must name one person.
    """
    if not person.may(*CARE):
        raise NotOfTheWard("The tablets are for the ward. Your roles do not write there, so you need no code.")
    steps = {int(after) - int(before) for before, after in zip(code, code[1:], strict=False)}
    if len(steps) == 1 and steps <= ONE_STEP:
        raise CodeTooEasy("This code is easy to guess. Choose one that is neither one digit nor digits in a row.")
    for other in _holders(person.initials):
        if other.pk != person.pk and check_password(code, other.short_code.code_hash):
            raise CodeTaken("Choose another code: this one does not tell you apart.")
    kept, _ = ShortCode.objects.update_or_create(user=person, defaults={"code_hash": make_password(code), "set_at": at})
    people.note(person=person, what="chose a code for the tablets", by=person, at=at)
    return kept


@transaction.atomic
def change_person(*, tablet: Tablet, initials: str, code: str, at: datetime) -> User | None:
    """Return whose initials and code these are, or None when they do not fit, which is counted.

    :raises TooManyWrong: when too many did not fit within a quarter of an hour.
    """
    Tablet.objects.select_for_update().get(pk=tablet.pk)
    WrongCode.objects.filter(at__lte=at - RESTS).delete()
    wrong = list(tablet.wrong_codes.values_list("initials", flat=True))
    if wrong.count(initials) >= MOST_WRONG or len(wrong) >= MOST_WRONG_HERE:
        raise TooManyWrong(
            "Too many codes did not fit. Changing by code rests here for a quarter of an hour; a password works."
        )
    found = [person for person in _holders(initials) if check_password(code, person.short_code.code_hash)]
    if not found:
        WrongCode.objects.create(tablet=tablet, initials=initials, at=at)
        return None
    tablet.wrong_codes.filter(initials=initials).delete()
    return found[0]


def _holders(initials: str) -> list[User]:
    """Return who has these initials, a code, and a place in the ward."""
    people_here = User.objects.filter(initials__iexact=initials, is_active=True, short_code__isnull=False)
    held = people_here.select_related("short_code").prefetch_related("roles_held")
    return [person for person in held if person.may(*CARE)]
