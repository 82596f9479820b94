"""What the books have of the gifts that a file's rows name by their keys, and what of each can still go back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import chain
from uuid import UUID

from ledger.models import Entry, Gift

PIECE = 500  # keys asked for at once
Figures = tuple[int, int, date]  # amount, fee, day received


@dataclass(kw_only=True, slots=True)
class Target:
    """A gift that a row gives back: in the books, or brought by another row of the file."""

    left_minor: int  # what of it has not gone back
    donor_name: str
    fund_name: str
    is_past: bool


def figures_of(keys: set[UUID]) -> dict[UUID, Figures]:
    """Return what the books have of the gifts of these keys."""
    found: dict[UUID, Figures] = {}
    for piece in _pieces(keys):
        rows = Gift.objects.filter(entry__key__in=piece)
        told = rows.values_list("entry__key", "amount_minor", "fee_minor", "received_on")
        found |= {key: (amount, fee, on) for key, amount, fee, on in told}
    return found


def targets_of(keys: set[UUID]) -> dict[UUID, Target]:
    """Return the gifts of these keys, each with what is left of it to go back."""
    found: dict[UUID, Target] = {}
    for piece in _pieces(keys):
        gifts = Gift.objects.filter(entry__key__in=piece).select_related("donor", "entry__reversed_by")
        for gift in gifts.prefetch_related("returns", "inflows__fund"):
            gone = sum(row.amount_minor for row in gift.returns.all())
            found[gift.entry.key] = Target(
                left_minor=0 if hasattr(gift.entry, "reversed_by") else gift.amount_minor - gone,
                is_past=gift.way == Gift.Way.PAST,
                donor_name=gift.donor.name if gift.donor else "",
                fund_name=", ".join(dict.fromkeys(inflow.fund.name for inflow in gift.inflows.all())),
            )
    return found


def entered(keys: set[UUID]) -> set[UUID]:
    """Return which of these keys have an entry."""
    pieces = (Entry.objects.filter(key__in=one).values_list("key", flat=True) for one in _pieces(keys))
    return set(chain.from_iterable(pieces))


def _pieces(keys: set[UUID]) -> list[list[UUID]]:
    told = list(keys)
    return [told[start : start + PIECE] for start in range(0, len(told), PIECE)]
