"""Microchip numbers by ISO 11784: kept as text, so that no leading zero is lost.

Fifteen digits: three of country (below 900) or maker (900 to 998; 999 for tests), then twelve of an
identification code of 38 bits. Ten digits are an older chip that does not follow the standard: it is kept and marked.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum

LARGEST_CODE = 2**38 - 1
MAKERS, TESTS = 900, 999
SPACING = re.compile(r"[ \-.]")


class NotAChip(ValueError):
    """The number is none that a chip can carry; the message says why."""


class ChipKind(Enum):
    COUNTRY = "ISO chip, by country"
    MAKER = "ISO chip, by maker"
    TEST = "test chip"
    OLDER = "older chip, not ISO"


@dataclass(frozen=True, kw_only=True)
class Chip:
    number: str
    kind: ChipKind


def read(*, text: str) -> Chip:
    """Return the chip that a typed or scanned number stands for.

    >>> read(text="040 098 100 111 917").number, read(text="999000000000001").kind.value
    ('040098100111917', 'test chip')
    >>> read(text="0A1B2C3D4E")
    Traceback (most recent call last):
    clinic.formulas.chips.NotAChip: A chip number has digits only.

    :raises NotAChip: when it has other signs than digits, the wrong length, no country or maker, or too large a code.
    """
    digits = SPACING.sub("", text)
    if not re.fullmatch(r"[0-9]+", digits, re.ASCII):
        raise NotAChip("A chip number has digits only.")
    if len(digits) == 10:
        return Chip(number=digits, kind=ChipKind.OLDER)
    if len(digits) != 15:
        raise NotAChip(f"A chip number has 15 digits, or 10 on an older chip; this one has {len(digits)}.")
    if digits.startswith("000"):
        raise NotAChip("Its first three digits are 000, which stand for no country and no maker: read it again.")
    if int(digits[3:]) > LARGEST_CODE:
        raise NotAChip("The last 12 digits are larger than any chip can carry: read it again.")
    return Chip(number=digits, kind=_kind(int(digits[:3])))


def _kind(code: int) -> ChipKind:
    if code == TESTS:
        return ChipKind.TEST
    return ChipKind.MAKER if code >= MAKERS else ChipKind.COUNTRY
