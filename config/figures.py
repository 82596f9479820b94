"""Figures as people type them and addresses carry them: plain ones of a length that anything here has, or none."""

from __future__ import annotations

import re
from decimal import Decimal

LONGEST = 30
LONGEST_NUMBER = 18  # below the largest number of a row
PLAIN = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")


def figure(text: str) -> Decimal | None:
    """Return what a plain figure says.

    >>> figure("12.50"), figure(" -3 "), figure("1e9"), figure("nan"), figure("9" * 5_000)
    (Decimal('12.50'), Decimal('-3'), None, None, None)
    """
    plain = text.strip()
    return Decimal(plain) if len(plain) <= LONGEST and PLAIN.fullmatch(plain) else None


def row_number(text: str) -> int | None:
    """Return the row that an address or a hidden field names, or None where it names none that there could be.

    >>> row_number("17"), row_number("-1"), row_number("²"), row_number("9" * 5_000)
    (17, None, None, None)
    """
    return int(text) if len(text) <= LONGEST_NUMBER and text.isascii() and text.isdecimal() else None
