"""The keys of everything that one date's ward sheet can send twice.

A sheet has one key, made of its date; each tick and each charge on it has a key made of the sheet's, so that a
double click, a re-sent form and a second signature are recognized for what they are.
"""

from collections.abc import Iterable
from datetime import date
from uuid import UUID, uuid5

_SHEETS = UUID("8f1c6c0e-5a0b-4c58-9d1f-3d0b5e0f7a11")


def sheet(on: date) -> UUID:
    """Return the key of the sheet of a date.

    >>> sheet(date(2026, 10, 14)) == sheet(date(2026, 10, 14)), sheet(date(2026, 10, 14)) == sheet(date(2026, 10, 15))
    (True, False)
    """
    return uuid5(_SHEETS, on.isoformat())


def boarding(on: date, *, animal_key: str) -> UUID:
    """Return the key of an animal's boarding day."""
    return uuid5(sheet(on), f"boarding {animal_key}")


def charge(on: date, *, item_keys: Iterable[UUID]) -> UUID:
    """Return the key of the charge that care items of one kind become together, in whatever order.

    >>> one, other = sheet(date(2026, 1, 1)), sheet(date(2026, 1, 2))
    >>> charge(date(2026, 10, 14), item_keys=[one, other]) == charge(date(2026, 10, 14), item_keys=[other, one])
    True
    """
    return uuid5(sheet(on), " ".join(["care", *sorted(str(key) for key in item_keys)]))


def tick(on: date, *, order_key: UUID, round_name: str, turn: int) -> UUID:
    """Return the key of the `turn`-th tick of an order in a round; a tick taken back makes the next one new."""
    return uuid5(sheet(on), f"order {order_key} {round_name} {turn}")
