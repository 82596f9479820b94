"""Asks the promises of care again, by another way: raw rows, SQL of its own, and keys computed anew.

It shares no code with the actions and queries that write and read care, so that a fault in them cannot hide itself.
Whether each signed fact has its charge is asked of the books through `ledger.audit`.
"""

import hashlib
import json
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection

from clinic.promises import PROMISES
from config import triggers
from ledger.audit import MOST_SENTENCES, Audit, charges_kept

SHEETS = bytes.fromhex("8f1c6c0e5a0b4c589d1f3d0b5e0f7a11")
Fact = tuple[str, str, int]  # animal's key, day of care, quantity in thousandths


def audit() -> Audit:
    """Ask every promise of care again; findings are sentences, none when all are kept."""
    findings: list[str] = []
    for sentence, statement in PROMISES:
        findings += [sentence.format(*row) for row in _rows(statement)[:MOST_SENTENCES]]
    others: tuple[Callable[[], Iterator[str]], ...] = (_told, _charged, _guards, _papers)
    for check in others:
        findings += list(check())[:MOST_SENTENCES]
    return Audit(checks=len(PROMISES) + len(others), findings=tuple(findings))


def _rows(statement: str) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchall()


def _guards() -> Iterator[str]:
    yield from triggers.verify(connection, "clinic")


def _papers() -> Iterator[str]:
    """Every issued paper's file is there, byte for byte: its digest is that of its row; a destroyed one is gone."""
    for year, serial, sha256, destroyed in _rows(
        "SELECT n.year, n.serial, p.sha256, d.id FROM clinic_issuedpaper p"
        " JOIN clinic_papernumber n ON n.id = p.number_id"
        " LEFT JOIN clinic_paperdestruction d ON d.paper_id = p.id ORDER BY p.id"
    ):
        path = Path(settings.MEDIA_ROOT) / "kept" / sha256[:2] / f"{sha256}.pdf"
        if destroyed and path.is_file():
            yield f"The file of paper {year}-{serial:04} was destroyed by name and is there: run destroy_papers."
        elif destroyed:
            continue
        elif not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != sha256:
            yield f"The file of paper {year}-{serial:04} is missing, or not what was issued ({sha256})."


def _told() -> Iterator[str]:
    """Read the history forwards: facts and stays must stand as it says they were left."""
    said: dict[tuple[str, int], dict[str, Any]] = defaultdict(dict)
    for what, what_id, after in _rows(
        "SELECT what, what_id, after FROM clinic_change WHERE what IN ('care item', 'stay') ORDER BY id"
    ):
        said[what, what_id] |= json.loads(after) if isinstance(after, str) else after
    for number, on, quantity, undone in _rows('SELECT id, "on", quantity, undone_at FROM clinic_careitem'):
        told = said["care item", number]
        if told and (told.get("on"), Decimal(told.get("quantity", 0))) != (_day(on), Decimal(str(quantity))):
            yield f"The fact {number} was changed, and the history does not say so."
        if bool(told.get("undone")) != bool(undone):
            yield f"The fact {number} was taken back or put back, and the history does not say so."
    for number, admitted_on, discharged_on in _rows(
        "SELECT id, admitted_on, discharged_on FROM clinic_stay WHERE NOT is_history"
    ):
        told = said["stay", number]
        if (told.get("admitted_on"), told.get("discharged_on")) != (_day(admitted_on), _day(discharged_on)):
            yield f"The dates of the stay {number} are not those that the history tells."


def _charged() -> Iterator[str]:
    """Every signed fact and boarding day has its charge in the books, and no charge stands without its fact."""
    expected = dict(_boarded()) | dict(_given()) | dict(_billed())
    posted = {key: (subject, _day(on), quantity) for key, subject, on, quantity in charges_kept()}
    for key in sorted(expected.keys() - posted.keys()):
        animal, on, _ = expected[key]
        yield f"Care of {on} for animal {animal} is signed off, but it has no charge in the books ({key})."
    for key in sorted(posted.keys() - expected.keys()):
        animal, on, _ = posted[key]
        yield f"A charge of {on} for animal {animal} stands in the books without a signed fact ({key})."
    for key in sorted(expected.keys() & posted.keys()):
        if expected[key] != posted[key]:
            yield f"The charge {key} says {posted[key]}, the signed facts say {expected[key]}."


def _boarded() -> Iterator[tuple[str, Fact]]:
    for on, animal in _rows(
        'SELECT b."on", a.key FROM clinic_boardingday b JOIN clinic_animal a ON a.id = b.animal_id'
    ):
        yield _key(_day(on), f"boarding {animal}"), (animal, _day(on), 1000)


def _billed() -> Iterator[tuple[str, Fact]]:
    for key, animal, on in _rows(
        "SELECT b.key, a.key, b.care_on FROM clinic_bill b JOIN clinic_animal a ON a.id = b.animal_id"
        " WHERE b.state IN ('accepted', 'given')"
    ):
        yield _named(bytes.fromhex(str(key).replace("-", "")), "charge"), (animal, _day(on), 1000)


def _given() -> Iterator[tuple[str, Fact]]:
    """Put the signed facts that are charged alike into one line each, and give the line its key."""
    keys: dict[tuple, list[str]] = defaultdict(list)
    thousandths: Counter[tuple] = Counter()
    for key, quantity, animal, on, *alike in _rows(
        'SELECT c.key, c.quantity, a.key, c."on", c.service_id, c.given_free, c.emergency, c.path_key, c.late_source,'
        " c.signing_id FROM clinic_careitem c JOIN clinic_animal a ON a.id = c.animal_id"
        " WHERE c.signing_id IS NOT NULL AND c.undone_at IS NULL"
    ):
        line = (animal, _day(on), *alike)
        keys[line].append(_hyphened(key))
        thousandths[line] += int(Decimal(str(quantity)) * 1000)
    for line, found in keys.items():
        animal, on = line[:2]
        yield _key(on, " ".join(["care", *sorted(found)])), (animal, on, thousandths[line])


def _key(on: str, name: str) -> str:
    return _named(bytes.fromhex(_named(SHEETS, on).replace("-", "")), name)


def _named(space: bytes, name: str) -> str:
    """Return a UUID of version 5 as RFC 9562 lays it down: SHA-1 of space and name, six bits set."""
    digest = bytearray(hashlib.sha1(space + name.encode(), usedforsecurity=False).digest()[:16])
    digest[6] = digest[6] & 0x0F | 0x50
    digest[8] = digest[8] & 0x3F | 0x80
    return _hyphened(digest.hex())


def _hyphened(key: object) -> str:
    text = str(key).replace("-", "")
    return "-".join((text[:8], text[8:12], text[12:16], text[16:20], text[20:]))


def _day(value: date | str | None) -> str | None:
    return value.isoformat() if isinstance(value, date) else value
