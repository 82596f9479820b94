"""The way round the house: the pages a person's roles lead to, in their order."""

from dataclasses import dataclass

from django.http import HttpRequest
from django.urls import reverse

from config.roles import CARE, MONEY, STAFF, Role


@dataclass(frozen=True)
class Way:
    room: str  # "Ward" or "Ledger"
    words: str
    name: str  # the address's name; tests hold it against the gate of its view
    roles: frozenset[Role]


WAYS = (
    Way("Ward", "Today", "clinic:home", STAFF),
    Way("Ward", "Ward sheet", "clinic:ward_sheet", CARE | {Role.BOOKKEEPER, Role.READER}),
    Way("Ward", "Animals", "clinic:animals", STAFF),
    Way("Ledger", "Funds", "ledger:funds", MONEY),
)


@dataclass(frozen=True)
class Link:
    words: str
    address: str
    current: bool


@dataclass(frozen=True)
class Navigation:
    ward: tuple[Link, ...]
    ledger: tuple[Link, ...]


def navigation(request: HttpRequest) -> Navigation:
    """Return the person's links, the present page marked."""
    roles = request.user.role_set if request.user.is_authenticated else frozenset()
    here = request.resolver_match.view_name if request.resolver_match else ""

    def links(room: str) -> tuple[Link, ...]:
        return tuple(
            Link(way.words, reverse(way.name), way.name == here)
            for way in WAYS
            if way.room == room and way.roles & roles
        )

    return Navigation(ward=links("Ward"), ledger=links("Ledger"))


def house(request: HttpRequest) -> dict[str, object]:
    """Give every page its navigation and who is signed in."""
    if not hasattr(request, "user") or not request.user.is_authenticated:
        return {"nav": None}
    return {"nav": navigation(request), "person": request.user}
