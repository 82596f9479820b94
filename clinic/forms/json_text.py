"""Reads JSON strictly: each field once, numbers as decimals exactly as written, one sentence for a fault."""

from __future__ import annotations

import json
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

DIGITS_MOST = 100


class Unreadable(ValueError):
    """The file or its text is not what was asked for; the message is one sentence."""


def read_bytes(*, path: Path, most: int) -> bytes:
    """Return a file's bytes, and never more of them than `most`.

    :raises Unreadable: when it is missing, is no file, may not be read, or is larger.
    """
    try:
        with path.open("rb") as file:
            content = file.read(most + 1)
    except FileNotFoundError:
        raise Unreadable(f"There is no file {path}.") from None
    except (OSError, ValueError) as obstacle:
        reason = getattr(obstacle, "strerror", None) or "its name is not one that a file can have"
        raise Unreadable(f"The file {path} cannot be read: {reason}.") from None
    if len(content) > most:
        raise Unreadable(f"The file {path} is larger than {most:,} bytes, so it was not read.")
    return content


def parse(*, content: bytes) -> Any:
    """Return what the text says; numbers are Decimals, or text where they are no sensible number.

    >>> parse(content=b'{"success": 0.60, "days": 21, "cost": NaN}')
    {'success': Decimal('0.60'), 'days': Decimal('21'), 'cost': 'NaN'}

    :raises Unreadable: when it is not UTF-8, not JSON, nested too deep, or names a field twice.
    """
    try:
        return json.loads(
            content.decode("utf-8-sig"),
            parse_float=_number,
            parse_int=_number,
            parse_constant=str,
            object_pairs_hook=_each_once,
        )
    except UnicodeDecodeError:
        raise Unreadable("The file is not text in UTF-8.") from None
    except RecursionError:
        raise Unreadable("The brackets in the file are nested too deep.") from None
    except json.JSONDecodeError as obstacle:
        raise Unreadable(f"The file is not JSON: line {obstacle.lineno}, column {obstacle.colno}.") from None


def short(value: object) -> str:
    """Return a value as it may stand inside a sentence: printable and not too long."""
    text = value if isinstance(value, str) else json.dumps(value, default=str)
    text = "".join(letter if letter.isprintable() else "?" for letter in text)
    return text if len(text) <= 24 else f"{text[:24]}…"


def _number(text: str) -> Decimal | str:
    """Keep an absurd number as text: it is refused by name where it is looked at."""
    if len(text) > DIGITS_MOST:
        return text
    try:
        return Decimal(text)
    except InvalidOperation:
        return text


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise Unreadable(f'The field "{short(name)}" is given twice in one place.')
        found[name] = value
    return found
