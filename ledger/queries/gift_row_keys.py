"""The keys of a gift file's rows: the same row brought again, in whatever file, has the same."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from uuid import UUID, uuid5

from ledger.formulas.gift_files import GiftRow
from ledger.models import GiftSource


def keys_of(source: GiftSource, rows: Sequence[GiftRow]) -> dict[int, UUID]:
    """Return each row's key by its line: its reference, else all that it says and how many said the same before it."""
    seen: Counter[str] = Counter()
    keys = {}
    for row in rows:
        said = _said(row)
        seen[said] += 1
        keys[row.line] = uuid5(source.key, said if seen[said] == 1 else f"{said} #{seen[said]}")
    return keys


def gift_key_of(source: GiftSource, row: GiftRow) -> UUID | None:
    """Return the key of the gift that a row gives back, None where it names none."""
    named = row.original or row.reference
    return uuid5(source.key, f"reference {named}") if named else None


def content_of(row: GiftRow) -> str:
    """Return all that a row says, by which one without a reference is known."""
    said = f"{row.on} {row.gross_minor} {row.fee_minor} {row.name} {row.email} {row.words}"
    return f"{said} for {row.fund}" if row.fund else said


def _said(row: GiftRow) -> str:
    if row.back and row.original and row.reference not in ("", row.original):
        return f"back reference {row.reference}"
    if row.back:
        return f"back of {row.original or row.reference} {row.on} {row.gross_minor} {row.fee_minor} {row.name}"
    if row.reference:
        return f"reference {row.reference}"
    return content_of(row)
