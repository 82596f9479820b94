"""The books' triggers for SQLite.

SQLite has no statement triggers, so every check looks at one row through an index. Refusals are RAISE(ABORT),
never only a CHECK inside a trigger: the conflict clause of INSERT OR IGNORE would silence that. A kept figure
accepts a change only while the pen is down, which only these triggers do.
"""

from config.triggers import Trigger
from ledger.triggers import words
from ledger.triggers.tables import DATED, ERASABLE, ERASED, FIXED, KEPT, MATCHED, PARTS, PURE_APPEND

PEN_DOWN = "UPDATE ledger_books SET is_pen_down = 1 WHERE id = 1;"
PEN_UP = "UPDATE ledger_books SET is_pen_down = 0 WHERE id = 1;"
CLOSED_THROUGH = "(SELECT through_on FROM ledger_closing ORDER BY entry_id DESC LIMIT 1)"
PEN_IS_UP = "(SELECT is_pen_down FROM ledger_books WHERE id = 1) IS NOT 1"
EFFECT = (
    "((SELECT kind FROM ledger_account WHERE code = p.credit_id) IN ('income', 'expense'))"
    " - ((SELECT kind FROM ledger_account WHERE code = p.debit_id) IN ('income', 'expense'))"
)
MOVED = f"""
    SELECT p.fund_id, sum(p.amount_minor * ({EFFECT})) AS minor FROM ledger_posting p
    WHERE p.entry_id = NEW.id GROUP BY p.fund_id HAVING minor <> 0"""


def refuse(sentence: str, when: str) -> str:
    return f"SELECT RAISE(ABORT, '{sentence}') WHERE {when};"


def trigger(name: str, table: str, event: str, *body: str, when: str = "") -> Trigger:
    condition = f" WHEN {when}" if when else ""
    return Trigger(name, table, f"{event} ON {table} FOR EACH ROW{condition} BEGIN {' '.join(body)} END")


def _taken(table: str, key: str) -> str:
    """One EXISTS for each key, never OR: an all-NULL key would make a combined one scan."""
    same = " AND ".join(f"{column} = NEW.{column}" for column in key.split(", "))
    return refuse(words.NEVER_REPLACED, f"EXISTS (SELECT 1 FROM {table} WHERE {same})")


def _changed(columns: tuple[str, ...]) -> str:
    return " OR ".join(f"NEW.{column} IS NOT OLD.{column}" for column in columns)


def _but_erased(table: str) -> str:
    fixed = tuple(f'"{column}"' for column in ERASABLE.get(table, ()))
    return f"NEW.why IS NOT '{ERASED}' OR {_changed(fixed)}" if fixed else ""


def _never(table: str) -> list[Trigger]:
    said = f"SELECT RAISE(ABORT, '{words.NEVER_CHANGED}');"
    changed = trigger(f"{table}_never_changed", table, "BEFORE UPDATE", said, when=_but_erased(table))
    return [changed, _never_deleted(table)]


def _never_deleted(table: str) -> Trigger:
    return trigger(f"{table}_never_deleted", table, "BEFORE DELETE", f"SELECT RAISE(ABORT, '{words.NEVER_DELETED}');")


def _joins(table: str, keys: tuple[str, ...]) -> Trigger:
    finished = refuse(words.ENTRY_FINISHED, "EXISTS (SELECT 1 FROM ledger_entry WHERE id = NEW.entry_id)")
    return trigger(f"{table}_joins", table, "BEFORE INSERT", *(_taken(table, key) for key in keys), finished)


def _once(table: str, keys: tuple[str, ...]) -> Trigger:
    return trigger(f"{table}_once", table, "BEFORE INSERT", *(_taken(table, key) for key in keys))


def _kept(table: str, column: str, fixed: tuple[str, ...]) -> list[Trigger]:
    return [
        trigger(
            f"{table}_kept",
            table,
            "BEFORE UPDATE",
            f"SELECT RAISE(ABORT, '{words.KEPT_BY_TRIGGER}');",
            when=f"{PEN_IS_UP} OR {_changed(fixed)}",
        ),
        trigger(
            f"{table}_whole",
            table,
            "BEFORE INSERT",
            f"SELECT RAISE(ABORT, '{words.KEPT_BY_TRIGGER}');",
            when=f"NEW.{column} IS NOT NEW.amount_minor",
        ),
        _never_deleted(table),
    ]


def _fixed(table: str, sentence: str, columns: tuple[str, ...], keys: tuple[str, ...]) -> list[Trigger]:
    said = getattr(words, sentence)
    renamed = [key for key in keys if key not in columns and ", " not in key]
    return [
        trigger(f"{table}_fixed", table, "BEFORE UPDATE", f"SELECT RAISE(ABORT, '{said}');", when=_changed(columns)),
        *(
            trigger(f"{table}_{key}_once", table, "BEFORE UPDATE", _taken(table, key), when=_changed((key,)))
            for key in renamed
        ),
        _once(table, keys),
        _never_deleted(table),
    ]


BACK_OF = trigger(
    "ledger_posting_back",
    "ledger_posting",
    "BEFORE INSERT",
    refuse(
        words.BACK_TOO_MUCH,
        "NOT EXISTS (SELECT 1 FROM ledger_posting o WHERE o.id = NEW.back_of_id AND o.back_of_id IS NULL"
        " AND o.fund_id = NEW.fund_id AND o.debit_id = NEW.credit_id AND o.credit_id = NEW.debit_id"
        " AND o.amount_minor >= NEW.amount_minor + coalesce("
        "(SELECT sum(b.amount_minor) FROM ledger_posting b WHERE b.back_of_id = NEW.back_of_id), 0))",
    ),
    when="NEW.back_of_id IS NOT NULL",
)

# A condition that was met counts as long as its entry is not taken back.
MET = (
    "EXISTS (SELECT 1 FROM ledger_gift g WHERE g.advance_id = {}"
    " AND NOT EXISTS (SELECT 1 FROM ledger_entry r WHERE r.reverses_id = g.entry_id))"
)
CONDITIONS = [
    trigger(
        "ledger_gift_meets_once",
        "ledger_gift",
        "BEFORE INSERT",
        refuse(words.CONDITION_ONCE, MET.format("NEW.advance_id")),
        refuse(
            words.CONDITION_ONCE,
            "EXISTS (SELECT 1 FROM ledger_advance a JOIN ledger_posting p ON p.entry_id = a.entry_id"
            " JOIN ledger_posting b ON b.back_of_id = p.id WHERE a.id = NEW.advance_id)",
        ),
        when="NEW.advance_id IS NOT NULL",
    ),
    trigger(
        "ledger_posting_sends_back_once",
        "ledger_posting",
        "BEFORE INSERT",
        refuse(
            words.CONDITION_ONCE,
            "EXISTS (SELECT 1 FROM ledger_posting p JOIN ledger_advance a ON a.entry_id = p.entry_id"
            f" WHERE p.id = NEW.back_of_id AND {MET.format('a.id')})",
        ),
        when="NEW.back_of_id IS NOT NULL",
    ),
]

USE = trigger(
    "ledger_use_moves_what_is_left",
    "ledger_use",
    "AFTER INSERT",
    refuse(
        words.OTHER_FUND,
        "EXISTS (SELECT 1 FROM ledger_posting p WHERE p.id = NEW.posting_id AND ("
        "p.fund_id <> (SELECT fund_id FROM ledger_inflow WHERE id = NEW.inflow_id)"
        " OR p.fund_id <> (SELECT fund_id FROM ledger_shortfall WHERE id = NEW.shortfall_id)))",
    ),
    refuse(
        words.USE_TOO_MUCH,
        "EXISTS (SELECT 1 FROM ledger_inflow i WHERE i.id = NEW.inflow_id"
        " AND (i.left_minor - NEW.amount_minor < 0 OR i.left_minor - NEW.amount_minor > i.amount_minor))",
    ),
    refuse(
        words.USE_TOO_MUCH,
        "EXISTS (SELECT 1 FROM ledger_shortfall s WHERE s.id = NEW.shortfall_id"
        " AND s.left_minor < abs(NEW.amount_minor))",
    ),
    PEN_DOWN,
    "UPDATE ledger_inflow SET left_minor = left_minor - NEW.amount_minor WHERE id = NEW.inflow_id;",
    "UPDATE ledger_shortfall SET left_minor = left_minor - abs(NEW.amount_minor) WHERE id = NEW.shortfall_id;",
    PEN_UP,
)

ENTRY_BEFORE = trigger(
    "ledger_entry_follows",
    "ledger_entry",
    "BEFORE INSERT",
    *(_taken("ledger_entry", key) for key in ("id", "key", "digest", "reverses_id")),
    refuse(words.NUMBER_SKIPPED, "NEW.id <> (SELECT coalesce(max(id), 0) + 1 FROM ledger_entry)"),
    refuse(
        words.CHAIN_BROKEN,
        "NEW.previous <> coalesce((SELECT digest FROM ledger_entry ORDER BY id DESC LIMIT 1), '')",
    ),
    refuse(
        words.LEGS_MISSING,
        "NEW.legs <> (SELECT count(*) FROM ledger_posting WHERE entry_id = NEW.id)"
        ' OR NEW.legs <> (SELECT count(*) FROM ledger_posting WHERE entry_id = NEW.id AND "on" = NEW."on")'
        " OR NEW.legs <> coalesce((SELECT max(leg) FROM ledger_posting WHERE entry_id = NEW.id), 0)",
    ),
    refuse(words.PERIOD_CLOSED, f'NEW."on" <= {CLOSED_THROUGH}'),
    refuse(
        words.CLOSING_APART,
        "CASE NEW.kind WHEN 'closing' THEN 0 WHEN 'reopening' THEN 1 ELSE -1 END"
        " <> coalesce((SELECT reopens_id IS NOT NULL FROM ledger_closing WHERE entry_id = NEW.id), -1)",
    ),
    refuse(
        words.NOT_PASSED_ON,
        f"EXISTS (SELECT 1 FROM ({MOVED}) moved JOIN ledger_fund f ON f.id = moved.fund_id"
        " WHERE f.kind IN ('agreement', 'given'))",
    ),
    refuse(
        words.GIVEN_FOR_CARE,
        "EXISTS (SELECT 1 FROM ledger_posting p JOIN ledger_fund f ON f.id = p.fund_id WHERE p.entry_id = NEW.id"
        " AND f.is_restricted AND p.debit_id IN ('management', 'fundraising', 'debts_given_up'))",
    ),
    refuse(
        words.DEPOSIT_BELOW_ZERO,
        "EXISTS (SELECT 1 FROM ledger_posting t WHERE t.entry_id = NEW.id AND t.debit_id = 'partner_deposits' AND ("
        "SELECT sum(CASE WHEN p.credit_id = 'partner_deposits' THEN p.amount_minor ELSE -p.amount_minor END)"
        " FROM ledger_posting p WHERE p.fund_id = t.fund_id"
        " AND 'partner_deposits' IN (p.debit_id, p.credit_id)) < 0)",
    ),
    refuse(
        words.RESTRICTED_STAYS,
        "NEW.kind <> 'leftover' AND EXISTS (SELECT 1 FROM ledger_posting p JOIN ledger_fund f ON f.id = p.fund_id"
        " WHERE p.entry_id = NEW.id AND p.debit_id = 'transfers' AND p.back_of_id IS NULL AND f.is_restricted)",
    ),
)

CLOSING = trigger(
    "ledger_closing_follows",
    "ledger_closing",
    "BEFORE INSERT",
    refuse(words.CLOSING_BACK, f"NEW.reopens_id IS NULL AND NEW.through_on <= {CLOSED_THROUGH}"),
    refuse(
        words.REOPENED_LAST,
        "NEW.reopens_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_closing o WHERE o.id = NEW.reopens_id"
        f" AND o.reopens_id IS NULL AND o.through_on = {CLOSED_THROUGH} AND NEW.through_on IS"
        " (SELECT b.through_on FROM ledger_closing b WHERE b.entry_id < o.entry_id ORDER BY b.entry_id DESC LIMIT 1))",
    ),
)

ENTRY_AFTER = trigger(
    "ledger_entry_closes_its_day",
    "ledger_entry",
    "AFTER INSERT",
    PEN_DOWN,
    f"""INSERT INTO ledger_fundday (fund_id, "on", closing_minor, is_restricted)
        SELECT moved.fund_id, NEW."on", coalesce((
            SELECT d.closing_minor FROM ledger_fundday d WHERE d.fund_id = moved.fund_id AND d."on" < NEW."on"
            ORDER BY d."on" DESC LIMIT 1), 0), f.is_restricted
        FROM ({MOVED}) moved JOIN ledger_fund f ON f.id = moved.fund_id
        WHERE NOT EXISTS (SELECT 1 FROM ledger_fundday d WHERE d.fund_id = moved.fund_id AND d."on" = NEW."on");""",
    refuse(
        words.RESTRICTED_BELOW_ZERO,
        f"""EXISTS (SELECT 1 FROM ({MOVED}) moved JOIN ledger_fund f ON f.id = moved.fund_id
            WHERE f.is_restricted AND EXISTS (SELECT 1 FROM ledger_fundday d
                WHERE d.fund_id = f.id AND d."on" >= NEW."on" AND d.closing_minor + moved.minor < 0))""",
    ),
    f"""UPDATE ledger_fundday SET closing_minor = closing_minor
            + (SELECT moved.minor FROM ({MOVED}) moved WHERE moved.fund_id = ledger_fundday.fund_id)
        WHERE "on" >= NEW."on" AND fund_id IN (SELECT moved.fund_id FROM ({MOVED}) moved);""",
    PEN_UP,
)

# The line of care itself, also where its reversal gives a share back.
LINE = "(SELECT coalesce(reverses_id, id) FROM ledger_charge WHERE id = NEW.charge_id)"
UNPAID = trigger(
    "ledger_share_keeps_what_is_unpaid",
    "ledger_share",
    "AFTER INSERT",
    PEN_DOWN,
    f"INSERT INTO ledger_unpaid (charge_id, amount_minor) SELECT {LINE}, 0"
    f" WHERE NOT EXISTS (SELECT 1 FROM ledger_unpaid WHERE charge_id = {LINE});",
    f"UPDATE ledger_unpaid SET amount_minor = amount_minor + NEW.amount_minor WHERE charge_id = {LINE};",
    PEN_UP,
    when="NEW.payer = 'nobody'",
)

KEPT_TABLES = [
    trigger(
        f"{table}_kept_on_{event.lower()}",
        table,
        f"BEFORE {event}",
        f"SELECT RAISE(ABORT, '{words.KEPT_BY_TRIGGER}');",
        when=PEN_IS_UP if event != "DELETE" else "",
    )
    for table in ("ledger_fundday", "ledger_unpaid")
    for event in ("INSERT", "UPDATE", "DELETE")
]

WORDS = [
    trigger(
        "ledger_words_only_erased",
        "ledger_words",
        "BEFORE UPDATE",
        f"SELECT RAISE(ABORT, '{words.ONLY_ERASED}');",
        when="NEW.entry_id IS NOT OLD.entry_id OR NEW.salt || NEW.subject || NEW.line || NEW.note <> ''",
    ),
    _never_deleted("ledger_words"),
]

BANK_WORDS = [
    trigger(
        "ledger_banklinewords_only_erased",
        "ledger_banklinewords",
        "BEFORE UPDATE",
        f"SELECT RAISE(ABORT, '{words.LINE_WORDS_ERASED}');",
        when="NEW.line_id IS NOT OLD.line_id OR NEW.who NOT IN (OLD.who, '') OR NEW.words NOT IN (OLD.words, '')",
    ),
    _once("ledger_banklinewords", ("line_id",)),
    _never_deleted("ledger_banklinewords"),
]

AT_BANK = "CASE WHEN p.debit_id = 'bank' THEN p.amount_minor ELSE -p.amount_minor END"
MATCHES = [
    *(
        trigger(
            f"{table}_joins",
            table,
            "BEFORE INSERT",
            _taken(table, "id"),
            refuse(words.MATCHED_ONCE, f"EXISTS (SELECT 1 FROM {table} WHERE {column} = NEW.{column} AND stands)"),
            refuse(
                words.MATCH_FINISHED,
                "NEW.stands IS NOT 1 OR EXISTS (SELECT 1 FROM ledger_bankmatch WHERE id = NEW.match_id)",
            ),
        )
        for table, column in MATCHED.items()
    ),
    *(
        trigger(
            f"{table}_leaves",
            table,
            "BEFORE UPDATE",
            refuse(
                words.MATCH_FINISHED,
                f"NEW.stands OR {_changed(('id', 'match_id', column))} OR NOT EXISTS"
                " (SELECT 1 FROM ledger_bankmatch WHERE id = NEW.match_id AND undone_by IS NOT NULL)",
            ),
        )
        for table, column in MATCHED.items()
    ),
    *(_never_deleted(table) for table in (*MATCHED, "ledger_bankmatch")),
    trigger(
        "ledger_bankmatch_even",
        "ledger_bankmatch",
        "BEFORE INSERT",
        *(_taken("ledger_bankmatch", key) for key in ("id", "key")),
        refuse(
            words.MATCH_UNEVEN,
            "NEW.undone_by IS NOT NULL OR NOT EXISTS (SELECT 1 FROM ledger_bankmatchline WHERE match_id = NEW.id) OR ("
            "SELECT sum(l.amount_minor) FROM ledger_bankmatchline m JOIN ledger_bankline l ON l.id = m.line_id"
            f" WHERE m.match_id = NEW.id) <> coalesce((SELECT sum({AT_BANK}) FROM ledger_bankmatchentry m"
            " JOIN ledger_posting p ON p.entry_id = m.entry_id WHERE m.match_id = NEW.id"
            " AND 'bank' IN (p.debit_id, p.credit_id)), 0)",
        ),
    ),
    trigger(
        "ledger_bankmatch_undone",
        "ledger_bankmatch",
        "BEFORE UPDATE",
        f"SELECT RAISE(ABORT, '{words.MATCH_FINISHED}');",
        when=f"{_changed(('id', 'key', 'way', 'why', 'made_by', 'made_at'))} OR OLD.undone_by IS NOT NULL",
    ),
    trigger(
        "ledger_bankmatch_lets_go",
        "ledger_bankmatch",
        "AFTER UPDATE",
        *(f"UPDATE {table} SET stands = 0 WHERE match_id = NEW.id;" for table in MATCHED),
        when="NEW.undone_by IS NOT NULL",
    ),
]

OVERLAPPING = (
    "EXISTS (SELECT 1 FROM ledger_agreement a WHERE a.party_key = NEW.party_key AND a.id IS NOT NEW.id"
    " AND (a.until_on IS NULL OR NEW.from_on <= a.until_on) AND (NEW.until_on IS NULL OR a.from_on <= NEW.until_on))"
)
AGREEMENTS = [
    trigger(
        f"ledger_agreement_alone_on_{event.lower()}",
        "ledger_agreement",
        f"BEFORE {event}",
        refuse(words.AGREEMENTS_OVERLAP, OVERLAPPING),
    )
    for event in ("INSERT", "UPDATE")
]

TRIGGERS: tuple[Trigger, ...] = (
    *(_joins(table, keys) for table, keys in PARTS.items()),
    *(made for table in PURE_APPEND for made in _never(table)),
    *(made for table, (column, fixed) in KEPT.items() for made in _kept(table, column, fixed)),
    *(made for table, facts in FIXED.items() for made in _fixed(table, *facts)),
    *(made for table, keys in DATED.items() for made in (*_never(table), _once(table, keys))),
    *_never("ledger_entry"),
    *WORDS,
    *BANK_WORDS,
    *MATCHES,
    *KEPT_TABLES,
    UNPAID,
    *AGREEMENTS,
    *CONDITIONS,
    BACK_OF,
    USE,
    CLOSING,
    ENTRY_BEFORE,
    ENTRY_AFTER,
    _never_deleted("ledger_books"),
)
