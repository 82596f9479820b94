"""A house with people in it, for tests that go through the door."""

from datetime import UTC, date, datetime

from clinic.actions import people
from clinic.models import House, Partner, User
from config.roles import Role
from ledger.actions import holder

TODAY = date(2026, 10, 14)
AT = datetime(2026, 10, 14, 15, 0, tzinfo=UTC)
PASSWORD = "the wound is closing"


def house() -> House:
    opening = date(2026, 4, 1)
    holder.set_up(
        kind="practice",
        name="Larkweir Veterinary Practice",
        number="",
        country="US",
        currency="USD",
        fiscal_year_starts=1,
        on=opening,
        by=1,
    )
    return House.objects.create(
        pk=1, name="Larkweir Veterinary Practice", time_zone="America/New_York", opening_on=opening
    )


def partner(name: str = "Brindle Yard Rescue") -> Partner:
    return Partner.objects.create(name=name, since_on=date(2026, 1, 1))


def person(
    sign_in: str, *roles: Role, name: str = "", partner: Partner | None = None, password: str = PASSWORD
) -> User:
    """Add somebody who can sign in, as a manager would."""
    added = people.add(
        name=name or sign_in.title(),
        initials=sign_in[:2].upper(),
        sign_in=sign_in,
        roles=roles,
        partner=partner,
        by=None,
        today=TODAY,
        at=AT,
    )
    added.set_password(password)
    added.save()
    return added
