"""Asks the books again, by another way: every promise recomputed from raw rows with SQL of its own.

It shares no code with the actions, the triggers or the models, so that a fault in them cannot hide itself. Each
check is one statement that returns the rows which break a promise, and a sentence to say so.
"""

import hashlib
import json
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timezone

from django.db import connection

from ledger import promises_of_money
from ledger.promises import COVERED, IS_LATE, LATER, PROMISES, YES_OR_NO

MOST_SENTENCES = 20
EVERY = (*PROMISES, *promises_of_money.PROMISES)


@dataclass(frozen=True)
class Audit:
    """How many promises were asked again, and a sentence for each one found broken."""

    checks: int
    findings: tuple[str, ...]


def audit() -> Audit:
    """Ask every promise of the books again; findings are sentences, none when all are kept."""
    findings: list[str] = []
    for sentence, statement in EVERY:
        findings += [sentence.format(*row) for row in _rows(statement)[:MOST_SENTENCES]]
    others: tuple[Callable[[], Iterator[str]], ...] = (_digests, _guards)
    for check in others:
        findings += list(check())[:MOST_SENTENCES]
    return Audit(checks=len(EVERY) + len(others), findings=tuple(findings))


def charges_kept() -> list[tuple[str, str, date | str, int]]:
    """Return key, subject, day of care and quantity in thousandths of each line that was signed off.

    What a correction wrote, the reversal and the line in its place, is left out: it follows from those.
    """
    rows = _rows(
        "SELECT e.key, c.subject_key, c.care_on, c.quantity_thousandths FROM ledger_charge c"
        " JOIN ledger_entry e ON e.id = c.entry_id WHERE c.reverses_id IS NULL AND c.replaces_id IS NULL"
    )
    return [(_key(key), *facts) for key, *facts in rows]


def _rows(statement: str) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchall()


def _guards() -> Iterator[str]:
    """Count the triggers that the engine knows on the books' tables; each append-only table needs its own."""
    if connection.vendor == "sqlite":
        seen = dict(_rows("SELECT tbl_name, count(*) FROM sqlite_master WHERE type = 'trigger' GROUP BY tbl_name"))
    else:
        seen = dict(
            _rows(
                "SELECT c.relname, count(*) FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
                " WHERE NOT t.tgisinternal AND t.tgenabled IN ('O', 'A') GROUP BY c.relname"
            )
        )
    for table in (
        "entry",
        "posting",
        "charge",
        "share",
        "use",
        "gift",
        "inflow",
        "shortfall",
        "fundday",
        "words",
        "policy",
        "unpaid",
        "giftreturn",
        "closing",
        "closingbalance",
        "carried",
        "priceapproval",
    ):
        if seen.get(f"ledger_{table}", 0) < 3:
            yield f"The table ledger_{table} is not guarded: some of its triggers are missing."


def _digests() -> Iterator[str]:
    """Recompute each entry's digest, and that of its words where they are not erased."""
    parts: dict[int, dict[str, list]] = defaultdict(dict)
    for name, columns in COVERED.items():
        later = _later(name)
        for number, *row in _rows(f"SELECT entry_id, {columns}"):
            if name == "charges":
                row[IS_LATE] = bool(row[IS_LATE])
            told = [_day(cell) if isinstance(cell, date) else cell for cell in row]
            parts[number].setdefault(name, []).append([*told, later[row[0]]] if row[0] in later else told)
    words = {number: typed for number, *typed in _rows("SELECT entry_id, salt, subject, line, note FROM ledger_words")}
    entries = _rows(
        'SELECT id, kind, "on", recorded_at, "by", key, content, legs, words_digest, previous, reverses_id,'
        " form, digest FROM ledger_entry ORDER BY id"
    )
    for number, kind, on, moment, by, key, content, legs, words_digest, previous, reverses, form, digest in entries:
        said = {
            "form": form, "id": number, "kind": kind, "on": _day(on), "recorded_at": _moment(moment), "by": by,
            "key": _key(key), "content": content, "legs": legs, "words_digest": words_digest, "previous": previous,
            "reverses_id": reverses,
            **{name: sorted(rows, key=_json) for name, rows in parts.get(number, {}).items()},
        }  # fmt: skip
        if _sha(_json(said)) != digest:
            yield f"Entry {number} is not what it was when it was posted: its digest differs."
        if words_digest and any(words.get(number, ())):
            salt, *typed = words[number]
            if _sha(salt + _json(typed)) != words_digest:
                yield f"The words of entry {number} are not what they were when it was posted."


def _later(name: str) -> dict[int, dict[str, object]]:
    """Return by row what its later columns say, for the rows that have one filled."""
    if name not in LATER:
        return {}
    table, columns = LATER[name]
    filled = " OR ".join(f"{column} IS NOT NULL" for column in columns)
    rows = _rows(f"SELECT id, {', '.join(columns)} FROM {table} WHERE {filled}")  # noqa: S608  constants alone
    return {
        number: {
            column: bool(cell) if column in YES_OR_NO else _day(cell) if isinstance(cell, date) else cell
            for column, cell in zip(columns, cells, strict=True)
            if cell is not None
        }
        for number, *cells in rows
    }


def _json(content: object) -> str:
    return json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _sha(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _day(value: date | str) -> str:
    return value if isinstance(value, str) else value.isoformat()


def _key(value: object) -> str:
    text = str(value).replace("-", "")
    return "-".join((text[:8], text[8:12], text[12:16], text[16:20], text[20:]))


def _moment(value: datetime | str) -> str:
    """SQLite keeps moments as text in UTC, PostgreSQL gives them aware."""
    at = datetime.fromisoformat(value) if isinstance(value, str) else value
    at = at.replace(tzinfo=timezone.utc) if at.tzinfo is None else at.astimezone(timezone.utc)  # noqa: UP017
    return at.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
