"""Digests: what makes a later change of the books visible.

Each entry's digest is the SHA-256 of its content as canonical JSON (keys sorted, no spaces, UTF-8), which holds
the digest before it; so a change in any entry breaks every later one. Words that people typed enter as the
SHA-256 of a salt and the words: erasing them leaves the chain whole, and the hash of a name alone cannot be
guessed by trying names. `form` numbers the shape of the content, for readers of old entries.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timezone

FORM = 1


def canonical(content: object) -> str:
    """Return `content` as the one JSON text that stands for it.

    >>> canonical({"b": [1, None], "a": "é", "on": date(2026, 10, 13)})
    '{"a":"é","b":[1,null],"on":"2026-10-13"}'
    """
    return ENCODER.encode(content)


def digest(content: object) -> str:
    """Return the SHA-256 of the canonical JSON, as 64 hexadecimal digits.

    >>> digest({})
    '44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a'
    """
    return hashlib.sha256(canonical(content).encode()).hexdigest()


def words_digest(salt: str, words: Sequence[str]) -> str:
    """Return the digest of typed words under their salt.

    >>> words_digest("00", ["Bracken", "Padded dressing", ""]) == words_digest("01", ["Bracken", "Padded dressing", ""])
    False
    """
    return hashlib.sha256((salt + canonical(list(words))).encode()).hexdigest()


def check_number(text: str) -> str:
    """Return a digest as people compare it: its first sixteen signs in groups of four.

    >>> check_number("44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a")
    '4413 6fa3 55b3 678a'
    """
    return " ".join(text[at : at + 4] for at in range(0, 16, 4))


def moment(at: datetime) -> str:
    """Return a moment as text in UTC to the microsecond.

    >>> moment(datetime(2026, 10, 14, 9, 30, tzinfo=timezone.utc))
    '2026-10-14T09:30:00.000000Z'
    """
    return at.astimezone(timezone.utc).strftime("%Y-%m-%dT%H:%M:%S.%fZ")  # noqa: UP017


def entry_content(*, head: Mapping[str, object], parts: Mapping[str, Sequence[Sequence[object]]]) -> dict[str, object]:
    """Return what an entry's digest covers: its own facts and the rows that joined it, sorted as canonical texts.

    Each row begins with its number in its table, which no other row has, so that its text alone decides.

    >>> rows = [[12, "b"], [3, "c"], [1, "a"], [120, ""]]
    >>> found = entry_content(head={}, parts={"uses": rows})["uses"]
    >>> found == sorted(rows, key=canonical), [number for number, _ in found]
    (True, [1, 12, 120, 3])
    """
    return {"form": FORM, **head, **{name: _sorted(rows) for name, rows in parts.items()}}


def _sorted(rows: Sequence[Sequence[object]]) -> Sequence[Sequence[object]]:
    return sorted(rows, key=lambda row: f"{row[0]},") if len(rows) > 1 else rows


def _plain(value: object) -> str:
    if isinstance(value, datetime):
        return moment(value)
    if isinstance(value, date):
        return value.isoformat()
    return str(value)


ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=_plain)
