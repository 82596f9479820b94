"""The way round the house: the pages a person's roles lead to, in their order."""

from dataclasses import dataclass

from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject

from config.roles import CARE, MONEY, STAFF, Role


@dataclass(frozen=True)
class Way:
    room: str  # "Ward" or "Ledger"
    words: str
    name: str  # the address's name; tests hold it against the gate of its view
    roles: frozenset[Role]
    on_top: bool = True  # in the masthead too, not only in the index at the foot


READERS = frozenset({Role.BOOKKEEPER, Role.READER})
SIGNERS = frozenset({Role.VET, Role.MANAGER})
WAYS = (
    Way("Ward", "Today", "clinic:home", STAFF),
    Way("Ward", "Ward sheet", "clinic:ward_sheet_today", CARE | READERS),
    Way("Ward", "Animals", "clinic:animals", CARE | READERS),
    Way("Ward", "Follow-ups", "clinic:follow_ups", CARE | READERS),
    Way("Ward", "Paths", "clinic:paths", SIGNERS | READERS),
    Way("Ward", "Your animals", "clinic:your_animals", frozenset({Role.PARTNER})),
    Way("Ward", "Rooms and levels", "clinic:places", CARE | READERS, on_top=False),
    Way("Ward", "Supplies", "clinic:supplies", CARE | READERS, on_top=False),
    Way("Ward", "In numbers", "clinic:ward_in_numbers", CARE | READERS, on_top=False),
    Way("Ward", "Your code", "clinic:tablet_code", CARE, on_top=False),
    Way("Ward", "Tablets", "clinic:tablets", frozenset({Role.MANAGER, Role.READER}), on_top=False),
    Way("Ledger", "Funds", "ledger:funds", MONEY),
    Way("Ledger", "Gifts", "ledger:gifts", MONEY),
    Way("Ledger", "Bank", "ledger:bank", MONEY, on_top=False),
    Way("Ledger", "Money in and out", "ledger:in_and_out", MONEY, on_top=False),
    Way("Ledger", "Partners", "clinic:partner_funds", MONEY),
    Way("Ledger", "Sign off", "clinic:days_to_sign", SIGNERS | READERS),
    Way("Ledger", "Unpaid care", "clinic:unpaid_care", MONEY),
    Way("Ledger", "Month’s end", "clinic:month_end", MONEY, on_top=False),
    Way("Ledger", "Reports", "ledger:reports", MONEY, on_top=False),
    Way("Ledger", "What care cost", "clinic:cost_report", MONEY, on_top=False),
    Way("Ledger", "Report to the board", "clinic:board_report", MONEY, on_top=False),
    Way("Ledger", "Papers", "clinic:papers", MONEY),
    Way("Ledger", "Prices", "clinic:prices", MONEY, on_top=False),
    Way("Ledger", "Staff time", "clinic:staff", MONEY, on_top=False),
    Way("Ledger", "Shared costs", "clinic:shared_costs", MONEY, on_top=False),
    Way("Ledger", "Policies", "ledger:policies", MONEY, on_top=False),
    Way("Ledger", "Backups", "clinic:backups", MONEY - {Role.VET}, on_top=False),
    Way("Ledger", "People", "clinic:people", frozenset({Role.MANAGER, Role.READER}), on_top=False),
)


ON_TABLET = "clinic:ward_sheet_today"  # the one way on a shared tablet


@dataclass(frozen=True)
class Link:
    words: str
    address: str
    current: bool
    on_top: bool


@dataclass(frozen=True)
class RoomLinks:
    name: str
    links: tuple[Link, ...]


@dataclass(frozen=True)
class Navigation:
    ward: tuple[Link, ...]
    ledger: tuple[Link, ...]
    find: str  # where the search box asks; empty for those who may not

    @property
    def rooms(self) -> tuple[RoomLinks, ...]:
        both = (RoomLinks("Ward", self.ward), RoomLinks("Ledger", self.ledger))
        return tuple(room for room in both if room.links)


def navigation(request: HttpRequest) -> Navigation:
    """Return the person's links, the present page marked."""
    roles = request.user.role_set if request.user.is_authenticated else frozenset()
    here = request.resolver_match.view_name if request.resolver_match else ""

    tablet = getattr(request, "tablet", "")

    def links(room: str) -> tuple[Link, ...]:
        return tuple(
            Link(way.words, reverse(way.name), way.name == here, way.on_top)
            for way in WAYS
            if way.room == room and way.roles & roles and (not tablet or way.name == ON_TABLET)
        )

    find = reverse("clinic:find") if roles & STAFF and not tablet else ""
    return Navigation(ward=links("Ward"), ledger=links("Ledger"), find=find)


def house(request: HttpRequest) -> dict[str, object]:
    """Give every page its navigation and who is signed in."""
    if not hasattr(request, "user") or not request.user.is_authenticated:
        return {"nav": None}
    return {
        "nav": SimpleLazyObject(lambda: navigation(request)),  # a part never asks
        "person": request.user,
        "tablet": getattr(request, "tablet", ""),  # the shared tablet's name, where this is one
    }
