"""The books' triggers for PostgreSQL.

Inserts are judged once per statement over a transition table named `fresh`, so that a large day costs what its
rows cost. A kept figure accepts a change only from inside another trigger (pg_trigger_depth).
"""

from config.triggers import Function, Trigger
from ledger.triggers import words
from ledger.triggers.tables import DATED, ERASABLE, ERASED, FIXED, KEPT, MATCHED, PARTS, PURE_APPEND

CLOSED_THROUGH = "(SELECT through_on FROM ledger_closing ORDER BY entry_id DESC LIMIT 1)"
EFFECT = (
    "((SELECT a.kind FROM ledger_account a WHERE a.code = p.credit_id) IN ('income', 'expense'))::int"
    " - ((SELECT a.kind FROM ledger_account a WHERE a.code = p.debit_id) IN ('income', 'expense'))::int"
)


def refuse(sentence: str, when: str) -> str:
    return f"IF {when} THEN RAISE EXCEPTION '{sentence}' USING ERRCODE = 'restrict_violation'; END IF;"


MOVED = f"""(
    SELECT p.entry_id AS number, p.fund_id, p."on", sum(p.amount_minor * ({EFFECT})) AS minor
    FROM fresh JOIN ledger_posting p ON p.entry_id = fresh.id
    GROUP BY p.entry_id, p.fund_id, p."on" HAVING sum(p.amount_minor * ({EFFECT})) <> 0)"""

FINISHED = refuse(words.ENTRY_FINISHED, "EXISTS (SELECT 1 FROM fresh JOIN ledger_entry e ON e.id = fresh.entry_id)")
BACK = refuse(
    words.BACK_TOO_MUCH,
    """EXISTS (
        SELECT 1 FROM (SELECT DISTINCT back_of_id FROM fresh WHERE back_of_id IS NOT NULL) named
        JOIN ledger_posting o ON o.id = named.back_of_id
        WHERE o.back_of_id IS NOT NULL
           OR o.amount_minor < (SELECT sum(b.amount_minor) FROM ledger_posting b WHERE b.back_of_id = o.id)
           OR EXISTS (SELECT 1 FROM fresh WHERE fresh.back_of_id = o.id AND (
                fresh.fund_id <> o.fund_id OR fresh.debit_id <> o.credit_id OR fresh.credit_id <> o.debit_id)))""",
)
OTHER_FUND = refuse(
    words.OTHER_FUND,
    """EXISTS (
        SELECT 1 FROM fresh JOIN ledger_posting p ON p.id = fresh.posting_id
        LEFT JOIN ledger_inflow i ON i.id = fresh.inflow_id
        LEFT JOIN ledger_shortfall s ON s.id = fresh.shortfall_id
        WHERE p.fund_id <> i.fund_id OR p.fund_id <> s.fund_id)""",
)
NUMBERS = refuse(
    words.NUMBER_SKIPPED,
    """(SELECT max(id) - low + 1 FROM fresh) <> (SELECT count(*) FROM fresh)
        OR (SELECT count(*) FROM ledger_entry WHERE id >= low) <> (SELECT count(*) FROM fresh)
        OR low <> 1 AND NOT EXISTS (SELECT 1 FROM ledger_entry WHERE id = low - 1)""",
)
CHAIN = refuse(
    words.CHAIN_BROKEN,
    """EXISTS (SELECT 1 FROM fresh LEFT JOIN ledger_entry e ON e.id = fresh.id - 1
        WHERE fresh.previous <> coalesce(e.digest, ''))""",
)
LEGS = refuse(
    words.LEGS_MISSING,
    """EXISTS (SELECT 1 FROM fresh CROSS JOIN LATERAL (
        SELECT count(*) AS counted, coalesce(max(p.leg), 0) AS last,
               count(*) FILTER (WHERE p."on" = fresh."on") AS dated
        FROM ledger_posting p WHERE p.entry_id = fresh.id) seen
        WHERE fresh.legs <> seen.counted OR fresh.legs <> seen.last OR fresh.legs <> seen.dated)""",
)
PASSED_ON = refuse(
    words.NOT_PASSED_ON,
    f"""EXISTS (SELECT 1 FROM {MOVED} m JOIN ledger_fund f ON f.id = m.fund_id
        WHERE f.kind IN ('agreement', 'given'))""",
)
GIVEN_FOR_CARE = refuse(
    words.GIVEN_FOR_CARE,
    """EXISTS (SELECT 1 FROM fresh JOIN ledger_posting p ON p.entry_id = fresh.id JOIN ledger_fund f ON f.id = p.fund_id
        WHERE f.is_restricted AND p.debit_id IN ('management', 'fundraising', 'debts_given_up'))""",
)
DEPOSIT_BELOW_ZERO = refuse(
    words.DEPOSIT_BELOW_ZERO,
    """EXISTS (SELECT 1 FROM fresh JOIN ledger_posting t ON t.entry_id = fresh.id
        WHERE t.debit_id = 'partner_deposits' AND (
            SELECT sum(CASE WHEN p.credit_id = 'partner_deposits' THEN p.amount_minor ELSE -p.amount_minor END)
            FROM ledger_posting p WHERE p.fund_id = t.fund_id
            AND 'partner_deposits' IN (p.debit_id, p.credit_id)) < 0)""",
)
RESTRICTED_STAYS = refuse(
    words.RESTRICTED_STAYS,
    """EXISTS (SELECT 1 FROM fresh JOIN ledger_posting p ON p.entry_id = fresh.id JOIN ledger_fund f ON f.id = p.fund_id
        WHERE fresh.kind <> 'leftover' AND p.debit_id = 'transfers' AND p.back_of_id IS NULL AND f.is_restricted)""",
)
NEVER_BELOW_BY_NUMBER = refuse(
    words.RESTRICTED_BELOW_ZERO,
    f"""EXISTS (
        SELECT 1 FROM (SELECT m.fund_id, sum(m.minor) OVER (PARTITION BY m.fund_id ORDER BY m.number)
            - sum(m.minor) OVER (PARTITION BY m.fund_id) + (SELECT d.closing_minor FROM ledger_fundday d
                WHERE d.fund_id = m.fund_id ORDER BY d."on" DESC LIMIT 1) AS standing
            FROM {MOVED} m) run JOIN ledger_fund f ON f.id = run.fund_id
        WHERE f.is_restricted AND run.standing < 0)""",
)

CLOSED = refuse(words.PERIOD_CLOSED, f'EXISTS (SELECT 1 FROM fresh WHERE fresh."on" <= {CLOSED_THROUGH})')
APART = refuse(
    words.CLOSING_APART,
    """EXISTS (SELECT 1 FROM fresh LEFT JOIN ledger_closing c ON c.entry_id = fresh.id
        WHERE (fresh.kind = 'closing') <> (c.id IS NOT NULL AND c.reopens_id IS NULL)
           OR (fresh.kind = 'reopening') <> (c.reopens_id IS NOT NULL))""",
)
CLOSING_BACK = refuse(words.CLOSING_BACK, f"NEW.reopens_id IS NULL AND NEW.through_on <= {CLOSED_THROUGH}")
REOPENED_LAST = refuse(
    words.REOPENED_LAST,
    f"""NEW.reopens_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_closing o WHERE o.id = NEW.reopens_id
        AND o.reopens_id IS NULL AND o.through_on = {CLOSED_THROUGH} AND NEW.through_on IS NOT DISTINCT FROM
        (SELECT b.through_on FROM ledger_closing b WHERE b.entry_id < o.entry_id ORDER BY b.entry_id DESC LIMIT 1))""",
)

# A condition that was met counts as long as its entry is not taken back.
MET = """EXISTS (SELECT 1 FROM ledger_gift g WHERE g.advance_id = {}
    AND NOT EXISTS (SELECT 1 FROM ledger_entry r WHERE r.reverses_id = g.entry_id))"""
MET_ONCE = refuse(
    words.CONDITION_ONCE,
    f"""{MET.format("NEW.advance_id")} OR EXISTS (SELECT 1 FROM ledger_advance a
        JOIN ledger_posting p ON p.entry_id = a.entry_id JOIN ledger_posting b ON b.back_of_id = p.id
        WHERE a.id = NEW.advance_id)""",
)
SENT_BACK_ONCE = refuse(
    words.CONDITION_ONCE,
    f"""EXISTS (SELECT 1 FROM ledger_posting p JOIN ledger_advance a ON a.entry_id = p.entry_id
        WHERE p.id = NEW.back_of_id AND {MET.format("a.id")})""",
)

OVERLAPPING = refuse(
    words.AGREEMENTS_OVERLAP,
    """EXISTS (SELECT 1 FROM ledger_agreement a WHERE a.party_key = NEW.party_key AND a.id <> NEW.id
        AND (a.until_on IS NULL OR NEW.from_on <= a.until_on)
        AND (NEW.until_on IS NULL OR a.from_on <= NEW.until_on))""",
)

AT_BANK = "CASE WHEN p.debit_id = 'bank' THEN p.amount_minor ELSE -p.amount_minor END"
MATCH_FINISHED = refuse(
    words.MATCH_FINISHED, "NOT NEW.stands OR EXISTS (SELECT 1 FROM ledger_bankmatch WHERE id = NEW.match_id)"
)
MATCH_LEFT = refuse(
    words.MATCH_FINISHED,
    """NEW.stands OR NEW.id <> OLD.id OR NEW.match_id <> OLD.match_id OR NOT EXISTS
        (SELECT 1 FROM ledger_bankmatch WHERE id = NEW.match_id AND undone_by IS NOT NULL)""",
)
MATCH_EVEN = refuse(
    words.MATCH_UNEVEN,
    f"""NEW.undone_by IS NOT NULL OR NOT EXISTS (SELECT 1 FROM ledger_bankmatchline WHERE match_id = NEW.id)
        OR (SELECT sum(l.amount_minor) FROM ledger_bankmatchline m JOIN ledger_bankline l ON l.id = m.line_id
            WHERE m.match_id = NEW.id)
        <> coalesce((SELECT sum({AT_BANK}) FROM ledger_bankmatchentry m JOIN ledger_posting p
            ON p.entry_id = m.entry_id WHERE m.match_id = NEW.id AND 'bank' IN (p.debit_id, p.credit_id)), 0)""",
)
LET_GO = " ".join(f"UPDATE {table} SET stands = false WHERE match_id = NEW.id;" for table in MATCHED)

FUNCTIONS = (
    Function("ledger_bankmatch_joins", f"BEGIN {MATCH_FINISHED} RETURN NEW; END"),
    Function("ledger_bankmatch_leaves", f"BEGIN {MATCH_LEFT} RETURN NEW; END"),
    Function("ledger_bankmatch_even", f"BEGIN {MATCH_EVEN} RETURN NEW; END"),
    Function("ledger_bankmatch_lets_go", f"BEGIN {LET_GO} RETURN NULL; END"),
    Function("ledger_closing_follows", f"BEGIN {CLOSING_BACK} {REOPENED_LAST} RETURN NEW; END"),
    Function("ledger_gift_meets_once", f"BEGIN {MET_ONCE} RETURN NEW; END"),
    Function("ledger_posting_sends_back_once", f"BEGIN {SENT_BACK_ONCE} RETURN NEW; END"),
    Function("ledger_agreement_alone", f"BEGIN {OVERLAPPING} RETURN NEW; END"),
    Function(
        "ledger_refuse",
        "BEGIN RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = 'restrict_violation'; END",
    ),
    Function("ledger_part_joins", f"BEGIN {FINISHED} RETURN NULL; END"),
    Function("ledger_posting_joins", f"BEGIN {FINISHED} {BACK} RETURN NULL; END"),
    Function(
        "ledger_use_moves_what_is_left",
        f"""BEGIN {FINISHED} {OTHER_FUND}
        UPDATE ledger_inflow i SET left_minor = i.left_minor - moved.minor
        FROM (SELECT inflow_id, sum(amount_minor) AS minor FROM fresh WHERE inflow_id IS NOT NULL
              GROUP BY inflow_id) moved WHERE i.id = moved.inflow_id;
        UPDATE ledger_shortfall s SET left_minor = s.left_minor - moved.minor
        FROM (SELECT shortfall_id, sum(abs(amount_minor)) AS minor FROM fresh WHERE shortfall_id IS NOT NULL
              GROUP BY shortfall_id) moved WHERE s.id = moved.shortfall_id;
        RETURN NULL; END""",
    ),
    Function(
        "ledger_share_keeps_what_is_unpaid",
        """BEGIN
        INSERT INTO ledger_unpaid AS u (charge_id, amount_minor)
            SELECT coalesce(c.reverses_id, c.id), sum(fresh.amount_minor)
            FROM fresh JOIN ledger_charge c ON c.id = fresh.charge_id WHERE fresh.payer = 'nobody' GROUP BY 1
            ON CONFLICT (charge_id) DO UPDATE SET amount_minor = u.amount_minor + excluded.amount_minor;
        RETURN NULL; END""",
    ),
    Function(
        "ledger_kept",
        f"""DECLARE probe record; BEGIN
        probe := NEW; probe.left_minor := OLD.left_minor;
        {refuse(words.KEPT_BY_TRIGGER, "pg_trigger_depth() < 2 OR probe IS DISTINCT FROM OLD")}
        {refuse(words.USE_TOO_MUCH, "NEW.left_minor < 0 OR NEW.left_minor > NEW.amount_minor")}
        RETURN NEW; END""",
    ),
    Function(
        "ledger_entry_follows",
        f"""DECLARE low bigint; BEGIN
        SELECT min(id) INTO low FROM fresh;
        IF low IS NULL THEN RETURN NULL; END IF;
        {NUMBERS} {CHAIN} {LEGS} {CLOSED} {APART} {PASSED_ON} {RESTRICTED_STAYS} {GIVEN_FOR_CARE} {DEPOSIT_BELOW_ZERO}
        INSERT INTO ledger_fundday (fund_id, "on", closing_minor, is_restricted)
            SELECT m.fund_id, m."on", coalesce((SELECT d.closing_minor FROM ledger_fundday d
                WHERE d.fund_id = m.fund_id AND d."on" < m."on" ORDER BY d."on" DESC LIMIT 1), 0), f.is_restricted
            FROM (SELECT DISTINCT moved.fund_id, moved."on" FROM {MOVED} moved) m
            JOIN ledger_fund f ON f.id = m.fund_id
            ON CONFLICT (fund_id, "on") DO NOTHING;
        UPDATE ledger_fundday d SET closing_minor = d.closing_minor + later.minor
            FROM (SELECT day.id, sum(m.minor) AS minor FROM {MOVED} m
                JOIN ledger_fundday day ON day.fund_id = m.fund_id AND day."on" >= m."on" GROUP BY day.id) later
            WHERE d.id = later.id;
        {NEVER_BELOW_BY_NUMBER}
        RETURN NULL; END""",
    ),
)


def row(name: str, table: str, event: str, sentence: str, when: str = "") -> Trigger:
    condition = f" WHEN ({when})" if when else ""
    return Trigger(
        name, table, f"{event} ON {table} FOR EACH ROW{condition} EXECUTE FUNCTION ledger_refuse('{sentence}')"
    )


def fresh(name: str, table: str, function: str) -> Trigger:
    sql = f"AFTER INSERT ON {table} REFERENCING NEW TABLE AS fresh FOR EACH STATEMENT EXECUTE FUNCTION {function}()"
    return Trigger(name, table, sql)


def _changed(columns: tuple[str, ...]) -> str:
    return " OR ".join(f"NEW.{column} IS DISTINCT FROM OLD.{column}" for column in columns)


def _never_deleted(table: str) -> list[Trigger]:
    return [
        row(f"{table}_never_deleted", table, "BEFORE DELETE", words.NEVER_DELETED),
        Trigger(
            f"{table}_never_emptied",
            table,
            f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION ledger_refuse('{words.NEVER_DELETED}')",
        ),
    ]


def _but_erased(table: str) -> str:
    fixed = tuple(f'"{column}"' for column in ERASABLE.get(table, ()))
    return f"NEW.why <> '{ERASED}' OR {_changed(fixed)}" if fixed else ""


def _never(table: str) -> list[Trigger]:
    return [
        row(f"{table}_never_changed", table, "BEFORE UPDATE", words.NEVER_CHANGED, when=_but_erased(table)),
        *_never_deleted(table),
    ]


def _kept(table: str, column: str) -> list[Trigger]:
    return [
        Trigger(f"{table}_kept", table, f"BEFORE UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION ledger_kept()"),
        row(
            f"{table}_whole",
            table,
            "BEFORE INSERT",
            words.KEPT_BY_TRIGGER,
            when=f"NEW.{column} IS DISTINCT FROM NEW.amount_minor",
        ),
        *_never_deleted(table),
    ]


def _kept_table(table: str) -> list[Trigger]:
    kept = row(f"{table}_kept", table, "BEFORE INSERT OR UPDATE", words.KEPT_BY_TRIGGER, when="pg_trigger_depth() < 1")
    return [kept, *_never_deleted(table)]


def _fixed(table: str, sentence: str, columns: tuple[str, ...]) -> list[Trigger]:
    said = getattr(words, sentence)
    return [
        row(f"{table}_fixed", table, "BEFORE UPDATE", said, when=_changed(columns)),
        *_never_deleted(table),
    ]


JOINS = {"ledger_posting": "ledger_posting_joins", "ledger_use": "ledger_use_moves_what_is_left"}


def _each(name: str, table: str, event: str, function: str, when: str = "") -> Trigger:
    condition = f" WHEN ({when})" if when else ""
    return Trigger(name, table, f"{event} ON {table} FOR EACH ROW{condition} EXECUTE FUNCTION {function}()")


MATCHES = [
    *(_each(f"{table}_joins", table, "BEFORE INSERT", "ledger_bankmatch_joins") for table in MATCHED),
    *(_each(f"{table}_leaves", table, "BEFORE UPDATE", "ledger_bankmatch_leaves") for table in MATCHED),
    *(
        row(f"{table}_fixed", table, "BEFORE UPDATE", words.MATCH_FINISHED, when=_changed((column,)))
        for table, column in MATCHED.items()
    ),
    *(made for table in (*MATCHED, "ledger_bankmatch") for made in _never_deleted(table)),
    _each("ledger_bankmatch_even", "ledger_bankmatch", "BEFORE INSERT", "ledger_bankmatch_even"),
    row(
        "ledger_bankmatch_undone",
        "ledger_bankmatch",
        "BEFORE UPDATE",
        words.MATCH_FINISHED,
        when=f"{_changed(('id', 'key', 'way', 'why', 'made_by', 'made_at'))} OR OLD.undone_by IS NOT NULL",
    ),
    _each(
        "ledger_bankmatch_lets_go",
        "ledger_bankmatch",
        "AFTER UPDATE",
        "ledger_bankmatch_lets_go",
        when="NEW.undone_by IS NOT NULL",
    ),
]

TRIGGERS: tuple[Trigger, ...] = (
    *MATCHES,
    *(fresh(f"{table}_joins", table, JOINS.get(table, "ledger_part_joins")) for table in PARTS),
    *(made for table in PURE_APPEND for made in _never(table)),
    *(made for table, (column, _) in KEPT.items() for made in _kept(table, column)),
    *(made for table, (sentence, columns, _) in FIXED.items() for made in _fixed(table, sentence, columns)),
    *(made for table in DATED for made in _never(table)),
    *_never("ledger_entry"),
    row(
        "ledger_words_only_erased",
        "ledger_words",
        "BEFORE UPDATE",
        words.ONLY_ERASED,
        when="NEW.entry_id <> OLD.entry_id OR NEW.salt <> '' OR NEW.subject <> '' OR NEW.line <> '' OR NEW.note <> ''",
    ),
    *_never_deleted("ledger_words"),
    row(
        "ledger_banklinewords_only_erased",
        "ledger_banklinewords",
        "BEFORE UPDATE",
        words.LINE_WORDS_ERASED,
        when="NEW.line_id <> OLD.line_id OR NEW.who NOT IN (OLD.who, '') OR NEW.words NOT IN (OLD.words, '')",
    ),
    *_never_deleted("ledger_banklinewords"),
    *(made for table in ("ledger_fundday", "ledger_unpaid") for made in _kept_table(table)),
    fresh("ledger_share_keeps_what_is_unpaid", "ledger_share", "ledger_share_keeps_what_is_unpaid"),
    Trigger(
        "ledger_agreement_alone",
        "ledger_agreement",
        "BEFORE INSERT OR UPDATE ON ledger_agreement FOR EACH ROW EXECUTE FUNCTION ledger_agreement_alone()",
    ),
    Trigger(
        "ledger_closing_follows",
        "ledger_closing",
        "BEFORE INSERT ON ledger_closing FOR EACH ROW EXECUTE FUNCTION ledger_closing_follows()",
    ),
    Trigger(
        "ledger_gift_meets_once",
        "ledger_gift",
        "BEFORE INSERT ON ledger_gift FOR EACH ROW WHEN (NEW.advance_id IS NOT NULL)"
        " EXECUTE FUNCTION ledger_gift_meets_once()",
    ),
    Trigger(
        "ledger_posting_sends_back_once",
        "ledger_posting",
        "BEFORE INSERT ON ledger_posting FOR EACH ROW WHEN (NEW.back_of_id IS NOT NULL)"
        " EXECUTE FUNCTION ledger_posting_sends_back_once()",
    ),
    fresh("ledger_entry_follows", "ledger_entry", "ledger_entry_follows"),
    *_never_deleted("ledger_books"),
)
