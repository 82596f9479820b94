"""What a view tells its action and query: the moment, and today by the clinic's calendar."""

from dataclasses import dataclass
from datetime import date, datetime

from django.http import HttpRequest

from config import clock, home
from config.roles import Role

READ = frozenset({Role.VET, Role.READER})
WRITE = frozenset({Role.BOOKKEEPER, Role.MANAGER})
DECIDE = frozenset({Role.MANAGER})


@dataclass(frozen=True)
class Present:
    at: datetime
    today: date


def chosen(request: HttpRequest, name: str) -> str:
    """Return what a form was sent with, or what the address brought along to begin it with."""
    return request.POST.get(name, "") or request.GET.get(name, "")


def read() -> Present:
    return Present(at=clock.now(), today=clock.today(home.zone()))
