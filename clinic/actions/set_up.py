"""Setting up a real clinic, once: the one-time code, the holder, the house and its first manager.

Refusal
+-- HouseStands
+-- CodeDoesNotFit
"""

import hashlib
import hmac
import secrets
from dataclasses import asdict, dataclass
from datetime import date, datetime

from django.db import transaction

from clinic.actions import people
from clinic.models import House, SetUpCode, User
from config import home
from config.refusal import Refusal
from config.roles import Role
from ledger.actions import holder

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"  # none that could be read as another


class HouseStands(Refusal):
    pass


class CodeDoesNotFit(Refusal):
    field = "code"


@dataclass(frozen=True, kw_only=True)
class Books:
    kind: str
    name: str
    number: str
    country: str
    currency: str
    fiscal_year_starts: int


@dataclass(frozen=True, kw_only=True)
class FirstManager:
    name: str
    initials: str
    sign_in: str
    password: str
    roles: frozenset[Role]


@transaction.atomic
def offer_code(*, at: datetime) -> str:
    """Make the code that opens the set-up page; an earlier one dies. Only its SHA-256 is kept.

    :raises HouseStands: when there is nothing to set up any more.
    """
    _no_house()
    code = "-".join("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(4))
    SetUpCode.objects.update_or_create(pk=1, defaults={"code_sha256": _sha256(code), "made_at": at})
    return code


@transaction.atomic
def set_up(
    *,
    code: str,
    house_name: str,
    address: str,
    time_zone: str,
    ward_turns_at: int,
    opening_on: date,
    books: Books,
    manager: FirstManager,
    today: date,
    at: datetime,
) -> User:
    """Found the house: its holder, its name and day, and the manager who adds everybody else.

    :raises HouseStands: when the house was set up before; also for the second of two at once.
    :raises CodeDoesNotFit: when the code is not the one that was printed last.
    """
    offered = SetUpCode.objects.select_for_update().filter(pk=1).first()
    _no_house()
    if offered is None or not hmac.compare_digest(offered.code_sha256, _sha256(code)):
        raise CodeDoesNotFit("This is not the code that ./run --no-demo printed last. Look at its window again.")
    House.objects.create(
        pk=1,
        name=house_name,
        address=address,
        time_zone=time_zone,
        ward_turns_at=ward_turns_at,
        opening_on=opening_on,
        paper=home.paper_of(books.country),
    )
    person = people.add(
        name=manager.name,
        initials=manager.initials,
        sign_in=manager.sign_in,
        roles=manager.roles | {Role.MANAGER},
        partner=None,
        by=None,
        today=today,
        at=at,
    )
    person.set_password(manager.password)
    person.save(update_fields=["password"])
    holder.set_up(**asdict(books), on=opening_on, by=person.pk)
    offered.delete()
    return person


def _no_house() -> None:
    if House.objects.exists():
        raise HouseStands("This house is set up already. Sign in, or ask its manager for an invitation.")


def _sha256(code: str) -> str:
    plain = "".join(letter for letter in code.upper() if letter.isalnum())
    return hashlib.sha256(plain.encode()).hexdigest()
