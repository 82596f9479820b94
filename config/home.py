"""What both rooms must know of the house: the decimals of its currency, its zone, people, logo and who signs.

The ledger tells where to ask for the decimals, the clinic for everything else. The decimals are kept, because the
currency is chosen once, at set-up.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

BEFORE_SET_UP = 2
LETTER_PAPER = frozenset(["US", "CA", "MX", "CL", "CO", "CR", "DO", "GT", "NI", "PA", "PH", "PR", "SV", "VE"])


@dataclass(frozen=True, kw_only=True)
class Signatory:
    """Who signs letters; `signature` is a picture's source, empty where the name is written instead."""

    name: str
    title: str
    signature: str


class Head(Protocol):
    """What the head and the end of a paper show, read with the paper's facts."""

    @property
    def logo(self) -> str: ...

    @property
    def signatory(self) -> Signatory | None: ...


_source: Callable[[], int | None] | None = None
_zone: Callable[[], str | None] | None = None
_person: Callable[[int], str] | None = None
_logo: Callable[[], str] | None = None
_signatory: Callable[[], Signatory | None] | None = None
_kept: int | None = None


def ask(source: Callable[[], int | None]) -> None:
    """Name the function that knows; it answers None until there is a currency."""
    global _source
    _source = source


def digits() -> int:
    """Return the decimals of the home currency, two before the house is set up."""
    global _kept
    if _kept is None and _source is not None:
        _kept = _source()
    return BEFORE_SET_UP if _kept is None else _kept


def forget() -> None:
    """Ask again: a currency has just been chosen."""
    global _kept
    _kept = None


def ask_for_zone(source: Callable[[], str | None]) -> None:
    """Name the function that knows the time zone; it answers None until the house is set up."""
    global _zone
    _zone = source


def zone() -> str:
    """Return the house's time zone, UTC before it is set up."""
    return (_zone() if _zone else None) or "UTC"


def ask_for_person(source: Callable[[int], str]) -> None:
    """Name the function that knows a person's name by the id that the books keep."""
    global _person
    _person = source


def person(user_id: int) -> str:
    """Return a person's name, empty for somebody unknown."""
    return _person(user_id) if _person else ""


def ask_for_logo(source: Callable[[], str]) -> None:
    """Name the function that holds the logo as an address that is the picture itself, empty where there is none."""
    global _logo
    _logo = source


def logo() -> str:
    """Return the logo as the source of a picture, empty where the mark of the house stands."""
    return _logo() if _logo else ""


def paper_of(country: str) -> str:
    """Return the size of paper that a country prints on."""
    return "letter" if country in LETTER_PAPER else "a4"


def ask_for_signatory(source: Callable[[], Signatory | None]) -> None:
    """Name the function that tells who signs letters, where somebody was named for all of them."""
    global _signatory
    _signatory = source


def signatory() -> Signatory | None:
    """Return who signs letters, None where whoever issues one does."""
    return _signatory() if _signatory else None
