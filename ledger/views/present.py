"""What a view tells its action and query: the moment, and today by the clinic's calendar."""

from dataclasses import dataclass
from datetime import date, datetime

from config import clock, home
from config.roles import Role

READ = frozenset({Role.VET, Role.READER})
WRITE = frozenset({Role.BOOKKEEPER, Role.MANAGER})
DECIDE = frozenset({Role.MANAGER})


@dataclass(frozen=True)
class Present:
    at: datetime
    today: date


def read() -> Present:
    return Present(at=clock.now(), today=clock.today(home.zone()))
