"""Asks the books again, by another way: every promise recomputed from raw rows with SQL of its own.

It shares no code with the actions, the triggers or the models, so that a fault in them cannot hide itself. Each
check is one statement that returns the rows which break a promise, and a sentence to say so.
"""

import hashlib
import json
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from django.db import connection

from ledger import promises_of_donors, promises_of_money, promises_of_the_bank
from ledger.promises import COVERED, LATER, PROMISES, STANDING, YES_OR_NO

MOST_SENTENCES = 20
EVERY = (
    *PROMISES, *promises_of_money.PROMISES, *promises_of_the_bank.PROMISES, *promises_of_donors.PROMISES,
)  # fmt: skip


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
    others: tuple[Callable[[], Iterator[str]], ...] = (_digests, _closings, _guards)
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


def _rows(statement: str, page: tuple[int, int] | None = None) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(statement, page)
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
        "bankstatement",
        "bankline",
        "bankmatch",
        "bankmatchline",
        "bankmatchentry",
    ):
        if seen.get(f"ledger_{table}", 0) < 3:
            yield f"The table ledger_{table} is not guarded: some of its triggers are missing."


def _closings() -> Iterator[str]:
    """Sum up what was posted by each closing, on every account of every fund, and compare it with what it keeps."""
    closings = _rows(f"SELECT through_on, entry_id FROM {STANDING} c ORDER BY through_on")  # noqa: S608  a constant
    through = [_day(on) for on, _ in closings]
    moved: dict[int, dict[tuple[int, str], int]] = defaultdict(lambda: defaultdict(int))
    days: dict[object, dict[tuple[int, str], int]] = {}
    for fund, on, debit, credit, total in _rows(
        'SELECT fund_id, "on", debit_id, credit_id, sum(amount_minor) FROM ledger_posting'
        ' GROUP BY fund_id, "on", debit_id, credit_id'
    ):
        if on not in days:
            days[on] = moved[bisect_left(through, _day(on))]
        days[on][fund, debit] += int(total)
        days[on][fund, credit] -= int(total)
    kept: dict[int, dict[tuple[int, str], int]] = defaultdict(dict)
    for entry, fund, account, minor in _rows(
        "SELECT entry_id, fund_id, account_id, balance_minor FROM ledger_closingbalance"
    ):
        kept[entry][fund, account] = minor
    standing: dict[tuple[int, str], int] = defaultdict(int)
    for place, (_, entry) in enumerate(closings):
        for what, minor in moved[place].items():
            standing[what] += minor
        now = {what: minor for what, minor in standing.items() if minor}
        for fund, account in sorted(now.keys() | kept[entry].keys()) if now != kept[entry] else ():
            keeps, summed = kept[entry].get((fund, account), 0), now.get((fund, account), 0)
            if keeps != summed:
                yield (
                    f"The closing {entry} keeps {keeps} on account {account} of fund {fund}, "
                    f"but what was posted by then sums to {summed}."
                )


PAGE = 4_000  # entries read at once: a long read would hold back whoever posts
ERASED = '["","",""]'
# An entry's own facts, each with what it holds; those that stand side by side in the digest are written as one piece.
PIECES = (
    "by",
    "content code, form",
    "id",
    "key key, kind code, legs, on day",
    "previous code, recorded_at moment",
    "reverses_id maybe",
    "words_digest code",
)
# Where each piece and each part of an entry stands among them: in the order of their names.
PLACES = {name: place for place, name in enumerate(sorted((*(piece.split()[0] for piece in PIECES), *COVERED)))}


def _digests() -> Iterator[str]:
    """Recompute each entry's digest, and that of its words where they are not erased, page by page.

    The engine writes each row of an entry as JSON and joins them in order; here they are put together and digested.
    """
    last = _rows("SELECT coalesce(max(id), 0) FROM ledger_entry")[0][0]
    statements = [(PLACES[name], f'"{name}":[', _said(*COVERED[name]), name) for name in COVERED]
    later = {name: _later(name) for name in LATER}
    heads, typed = _heads(), _typed()
    for low in range(1, last + 1, PAGE):
        page = (low, low + PAGE - 1)
        told: dict[int, list[str]] = defaultdict(lambda: [""] * len(PLACES))
        for place, begins, statement, name in statements:
            more = later.get(name)
            for number, said in _rows(statement, page):
                if more and (row := int(said[1 : said.index(",")])) in more:
                    said = f"{said[:-1]},{more[row]}]"
                told[number][place] = f"{begins}{said}],"
        words = dict(_rows(typed, page))
        for number, words_digest, digest, *pieces in _rows(heads, page):
            entry = told[number]
            for place, piece in zip(HEAD_PLACES, pieces, strict=True):
                entry[place] = piece
            if _sha(f"{{{''.join(entry)}}}") != digest:
                yield f"Entry {number} is not what it was when it was posted: its digest differs."
            if words_digest and words.get(number, ERASED) != ERASED and _sha(words[number]) != words_digest:
                yield f"The words of entry {number} are not what they were when it was posted."


HEAD_PLACES = tuple(PLACES[piece.split()[0]] for piece in PIECES)


def _heads() -> str:
    """Return the statement that reads each entry of a page, its own facts as pieces of JSON; the last has no comma."""
    pieces = []
    for piece in PIECES:
        facts = [f"""'"{name}":' || {_cell(name, *holds)}""" for name, *holds in map(str.split, piece.split(","))]
        pieces.append(" || ',' || ".join(facts) + ("" if piece == PIECES[-1] else " || ','"))
    return (
        f"SELECT id, words_digest, digest, {', '.join(pieces)} FROM ledger_entry"  # noqa: S608
        " WHERE id BETWEEN %s AND %s"
    )


def _typed() -> str:
    """Return the statement that reads what people typed of each entry of a page, as it was digested: salt and words."""
    words = " || ',' || ".join(_cell(column, "text") for column in ("subject", "line", "note"))
    return f"SELECT entry_id, salt || '[' || {words} || ']' FROM ledger_words WHERE entry_id BETWEEN %s AND %s"  # noqa: S608


def _said(table: str, columns: str) -> str:
    """Return the statement that writes the rows of each entry of a page as JSON, in the order of their text."""
    row = _array([tuple(column.split()) for column in columns.split(",")])
    rows = f"SELECT entry_id, {row} AS said FROM {table} WHERE entry_id BETWEEN %s AND %s"  # noqa: S608
    if connection.vendor == "postgresql":
        return f"SELECT entry_id, string_agg(said, ',' ORDER BY said COLLATE \"C\") FROM ({rows}) r GROUP BY entry_id"  # noqa: S608
    return f"SELECT entry_id, group_concat(said, ',') FROM ({rows} ORDER BY entry_id, said) GROUP BY entry_id"  # noqa: S608


def _array(columns: list[tuple[str, ...]]) -> str:
    """Return the SQL that writes a row as JSON: SQLite's own function is quickest, PostgreSQL's puts spaces in."""
    if connection.vendor == "postgresql":
        cells = " || ',' || ".join(_cell(*column) for column in columns)
        return f"'[' || {cells} || ']'"
    plain = (f"json({_cell(*column)})" if "yes" in column else f'"{column[0]}"' for column in columns)
    return f"json_array({', '.join(plain)})"


def _cell(column: str, holds: str = "") -> str:
    """Return the SQL that writes one cell as JSON."""
    quoted = f'"{column}"'
    if holds == "yes":
        return f"CASE WHEN {quoted} THEN 'true' ELSE 'false' END"
    if holds == "day":
        return f"coalesce('\"' || CAST({quoted} AS text) || '\"', 'null')"
    if holds == "text":
        return f"json_quote({quoted})" if connection.vendor == "sqlite" else f"to_json({quoted})::text"
    if holds == "code":
        return f"'\"' || {quoted} || '\"'"
    if holds in ("key", "moment"):
        return f"'\"' || {WRITTEN[connection.vendor][holds].format(quoted)} || '\"'"
    return f"coalesce(CAST({quoted} AS text), 'null')" if holds == "maybe" else quoted


# SQLite keeps a key as 32 letters and a moment as text in UTC, with its fraction only where there is one.
WRITTEN = {
    "sqlite": {
        "key": "substr({0},1,8)||'-'||substr({0},9,4)||'-'||substr({0},13,4)||'-'||substr({0},17,4)"
        "||'-'||substr({0},21)",
        "moment": "substr({0},1,10)||'T'||substr({0},12)||CASE length({0}) WHEN 19 THEN '.000000' ELSE '' END||'Z'",
    },
    "postgresql": {
        "key": "CAST({0} AS text)",
        "moment": "to_char({0} AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.US\"Z\"')",
    },
}


def _later(name: str) -> dict[int, str]:
    """Return by row what its later columns say as JSON, for the rows that have one filled."""
    table, columns = COVERED[name][0], LATER[name]
    filled = " OR ".join(f"{column} IS NOT NULL" for column in columns)
    rows = _rows(f"SELECT id, {', '.join(columns)} FROM {table} WHERE {filled}")  # noqa: S608  constants alone
    return {
        number: _json(
            {
                column: bool(cell) if column in YES_OR_NO else _day(cell) if isinstance(cell, date) else cell
                for column, cell in zip(columns, cells, strict=True)
                if cell is not None
            }
        )
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
