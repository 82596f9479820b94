"""The promises of the books, each as a statement that returns the rows which break it.

The SQL is the audit's own: it reads raw tables and nothing that the actions, the triggers or the models compute.
"""

# ruff: noqa: S608  the statements are put together from constants of this module alone

# Every posting with what it does to its fund's balance. The engine asks the accounts once, not for every posting.
IN_OR_OUT = "(SELECT code FROM ledger_account WHERE kind IN ('income', 'expense'))"
DELTA = f"""SELECT p.id, p.entry_id, p.fund_id, p."on", p.back_of_id, p.amount_minor,
    p.amount_minor * (CASE WHEN p.credit_id IN {IN_OR_OUT} THEN 1 ELSE 0 END
                    - CASE WHEN p.debit_id IN {IN_OR_OUT} THEN 1 ELSE 0 END) AS minor FROM ledger_posting p"""

# Every share on a fund, with the reason of the share that it gives back where it does.
ROOTED = """SELECT s.id, s.fund_id, s.amount_minor, c.subject_key, c.plan_key, c.care_on, f.kind,
    coalesce(o.reason, s.reason) AS rooted FROM ledger_share s JOIN ledger_charge c ON c.id = s.charge_id
    JOIN ledger_fund f ON f.id = s.fund_id JOIN ledger_posting p ON p.id = s.posting_id
    LEFT JOIN ledger_share o ON o.posting_id = p.back_of_id"""
# Those that follow from the order of payers: nobody decided them by name.
ORDERED = f"SELECT * FROM ({ROOTED}) r WHERE r.rooted <> 'taken_over' AND r.rooted NOT LIKE 'standing:%'"
MONTH = "substr(CAST({}.{} AS text), 1, 7)"

# Every closing that was not reopened; nothing dated on its last day or before it can have come since.
STANDING = """(SELECT o.entry_id, o.through_on FROM ledger_closing o WHERE o.reopens_id IS NULL
    AND NOT EXISTS (SELECT 1 FROM ledger_closing r WHERE r.reopens_id = o.id))"""

# (sentence with a place for each column, statement that returns the rows that break the promise)
PROMISES: tuple[tuple[str, str], ...] = (
    (
        "Entry numbers have a gap: {} entries, but the last number is {}.",
        "SELECT count(*), max(id) FROM ledger_entry HAVING count(*) <> coalesce(max(id), 0)",
    ),
    (
        "Entry {} does not name the digest of the entry before it.",
        "SELECT e.id FROM ledger_entry e LEFT JOIN ledger_entry b ON b.id = e.id - 1"
        " WHERE e.previous <> coalesce(b.digest, '')",
    ),
    (
        "Entry {} counts {} legs and has {}, the last numbered {}.",
        "SELECT e.id, e.legs, count(p.id), coalesce(max(p.leg), 0) FROM ledger_entry e"
        " LEFT JOIN ledger_posting p ON p.entry_id = e.id GROUP BY e.id, e.legs"
        " HAVING e.legs <> count(p.id) OR e.legs <> coalesce(max(p.leg), 0)",
    ),
    (
        "Posting {} is dated otherwise than its entry {}, or the entry is not there.",
        "SELECT p.id, p.entry_id FROM ledger_posting p LEFT JOIN ledger_entry e ON e.id = p.entry_id"
        ' WHERE e.id IS NULL OR p."on" <> e."on"',
    ),
    (
        "Posting {} moves {} minor units between {} and {}.",
        "SELECT id, amount_minor, debit_id, credit_id FROM ledger_posting"
        " WHERE amount_minor <= 0 OR debit_id = credit_id",
    ),
    (
        "More was given back of posting {} than was posted: {} of {}.",
        "SELECT o.id, sum(b.amount_minor), o.amount_minor FROM ledger_posting o JOIN ledger_posting b"
        " ON b.back_of_id = o.id GROUP BY o.id, o.amount_minor HAVING sum(b.amount_minor) > o.amount_minor",
    ),
    (
        "Posting {} gives back posting {} to another fund or account.",
        "SELECT b.id, o.id FROM ledger_posting b JOIN ledger_posting o ON o.id = b.back_of_id"
        " WHERE b.fund_id <> o.fund_id OR b.debit_id <> o.credit_id OR b.credit_id <> o.debit_id"
        " OR o.back_of_id IS NOT NULL",
    ),
    (
        "Fund {} closes {} at {}, but its postings sum to {}.",
        f"""SELECT fund_id, "on", closing_minor, summed FROM (
            SELECT d.fund_id, d."on", d.closing_minor,
                sum(coalesce(m.minor, 0)) OVER (PARTITION BY d.fund_id ORDER BY d."on") AS summed
            FROM ledger_fundday d LEFT JOIN (SELECT x.fund_id, x."on", sum(x.minor) AS minor FROM ({DELTA}) x
            GROUP BY x.fund_id, x."on") m ON m.fund_id = d.fund_id AND m."on" = d."on") r
            WHERE closing_minor <> summed""",
    ),
    (
        "Fund {} moved on {}, but has no closing balance for that day.",
        f"""SELECT x.fund_id, x."on" FROM ({DELTA}) x WHERE NOT EXISTS (SELECT 1 FROM ledger_fundday d
            WHERE d.fund_id = x.fund_id AND d."on" = x."on")
            GROUP BY x.fund_id, x.entry_id, x."on" HAVING sum(x.minor) <> 0""",
    ),
    (
        "The restricted fund {} is below zero on {}: {}.",
        'SELECT d.fund_id, d."on", d.closing_minor FROM ledger_fundday d JOIN ledger_fund f ON f.id = d.fund_id'
        " WHERE f.is_restricted AND d.closing_minor < 0",
    ),
    (
        "The restricted fund {} is below zero after entry {}: {}.",
        f"""SELECT fund_id, entry_id, standing FROM (SELECT fund_id, entry_id,
            sum(moved) OVER (PARTITION BY fund_id ORDER BY entry_id) AS standing
            FROM (SELECT x.fund_id, x.entry_id, sum(x.minor) AS moved FROM ({DELTA}) x
            JOIN ledger_fund f ON f.id = x.fund_id AND f.is_restricted
            GROUP BY x.fund_id, x.entry_id) e) r WHERE standing < 0""",
    ),
    (
        "A day of fund {} is marked otherwise than the fund: restricted or not.",
        "SELECT DISTINCT d.fund_id FROM ledger_fundday d JOIN ledger_fund f ON f.id = d.fund_id"
        " WHERE d.is_restricted <> f.is_restricted",
    ),
    (
        "Fund {} ({}) does not stand at zero after entry {}.",
        f"""SELECT f.id, f.kind, x.entry_id FROM ({DELTA}) x JOIN ledger_fund f ON f.id = x.fund_id
            WHERE f.kind IN ('agreement', 'given') GROUP BY f.id, f.kind, x.entry_id HAVING sum(x.minor) <> 0""",
    ),
    (
        "Inflow {} of {} has {} left, but {} of it was used.",
        "SELECT i.id, i.amount_minor, i.left_minor, coalesce(sum(u.amount_minor), 0) FROM ledger_inflow i"
        " LEFT JOIN ledger_use u ON u.inflow_id = i.id GROUP BY i.id, i.amount_minor, i.left_minor"
        " HAVING i.amount_minor <> i.left_minor + coalesce(sum(u.amount_minor), 0)"
        " OR i.left_minor < 0 OR i.left_minor > i.amount_minor",
    ),
    (
        "Shortfall {} of {} has {} left, but {} of it was covered.",
        "SELECT s.id, s.amount_minor, s.left_minor, coalesce(sum(abs(u.amount_minor)), 0) FROM ledger_shortfall s"
        " LEFT JOIN ledger_use u ON u.shortfall_id = s.id GROUP BY s.id, s.amount_minor, s.left_minor"
        " HAVING s.amount_minor <> s.left_minor + coalesce(sum(abs(u.amount_minor)), 0)"
        " OR s.left_minor < 0 OR s.left_minor > s.amount_minor",
    ),
    (
        "Fund {} has a balance of {}, but its unspent money less its shortfalls is {}.",
        f"""SELECT f.id, coalesce(b.balance, 0), coalesce(i.unspent, 0) - coalesce(s.short, 0) FROM ledger_fund f
            LEFT JOIN (SELECT fund_id, sum(minor) AS balance FROM ({DELTA}) x GROUP BY fund_id) b ON b.fund_id = f.id
            LEFT JOIN (SELECT fund_id, sum(left_minor) AS unspent FROM ledger_inflow GROUP BY fund_id) i
                ON i.fund_id = f.id
            LEFT JOIN (SELECT fund_id, sum(left_minor) AS short FROM ledger_shortfall GROUP BY fund_id) s
                ON s.fund_id = f.id
            WHERE coalesce(b.balance, 0) <> coalesce(i.unspent, 0) - coalesce(s.short, 0)""",
    ),
    (
        "A use {} takes money of one fund for another.",
        "SELECT u.id FROM ledger_use u JOIN ledger_posting p ON p.id = u.posting_id"
        " LEFT JOIN ledger_inflow i ON i.id = u.inflow_id LEFT JOIN ledger_shortfall s ON s.id = u.shortfall_id"
        " WHERE p.fund_id <> i.fund_id OR p.fund_id <> s.fund_id",
    ),
    (
        "Posting {} brought in {}, but the money waiting from it began as {}.",
        f"""SELECT x.id, x.amount_minor, coalesce(i.came, 0) FROM ({DELTA}) x
            LEFT JOIN (SELECT posting_id, sum(amount_minor) AS came FROM ledger_inflow GROUP BY posting_id) i
            ON i.posting_id = x.id WHERE coalesce(i.came, 0)
            <> CASE WHEN x.minor > 0 AND x.back_of_id IS NULL THEN x.amount_minor ELSE 0 END""",
    ),
    (
        "Posting {} spent {}, but {} of it is traced to money that came in.",
        f"""SELECT x.id, -x.minor, coalesce(u.used, 0) + coalesce(s.short, 0) FROM ({DELTA}) x
            LEFT JOIN (SELECT posting_id, sum(CASE WHEN shortfall_id IS NULL OR inflow_id IS NULL
                THEN amount_minor ELSE 0 END) AS used FROM ledger_use GROUP BY posting_id) u ON u.posting_id = x.id
            LEFT JOIN (SELECT posting_id, sum(amount_minor) AS short FROM ledger_shortfall GROUP BY posting_id) s
            ON s.posting_id = x.id
            WHERE (x.minor < 0 OR x.minor > 0 AND x.back_of_id IS NOT NULL)
            AND -x.minor <> coalesce(u.used, 0) + coalesce(s.short, 0)""",
    ),
    (
        "The shares of charge {} sum to {}, but it asks {}.",
        "SELECT c.id, coalesce(sum(s.amount_minor), 0), c.asked_minor FROM ledger_charge c"
        " LEFT JOIN ledger_share s ON s.charge_id = c.id GROUP BY c.id, c.asked_minor"
        " HAVING c.asked_minor <> coalesce(sum(s.amount_minor), 0)",
    ),
    (
        "Of charge {} nobody has paid {}, but {} is kept.",
        "SELECT coalesce(s.charge_id, u.charge_id), coalesce(s.minor, 0), coalesce(u.amount_minor, 0) FROM"
        " (SELECT coalesce(c.reverses_id, c.id) AS charge_id, sum(s.amount_minor) AS minor FROM ledger_share s"
        " JOIN ledger_charge c ON c.id = s.charge_id WHERE s.payer = 'nobody' GROUP BY coalesce(c.reverses_id, c.id)) s"
        " FULL JOIN ledger_unpaid u ON u.charge_id = s.charge_id"
        " WHERE coalesce(s.minor, 0) <> coalesce(u.amount_minor, 0) OR coalesce(s.minor, 0) < 0",
    ),
    (
        "Moving shares of charge {} in entry {} does not sum to zero.",
        "SELECT s.charge_id, s.entry_id FROM ledger_share s JOIN ledger_charge c ON c.id = s.charge_id"
        " WHERE s.entry_id <> c.entry_id GROUP BY s.charge_id, s.entry_id HAVING sum(s.amount_minor) <> 0",
    ),
    (
        "Share {} of {} stands on a posting of {} in another fund, charge or amount.",
        "SELECT s.id, s.amount_minor, p.amount_minor FROM ledger_share s JOIN ledger_posting p ON p.id = s.posting_id"
        " WHERE s.fund_id <> p.fund_id OR s.entry_id <> p.entry_id OR p.charge_id IS NULL OR p.charge_id <> s.charge_id"
        " OR s.amount_minor <> CASE WHEN p.back_of_id IS NULL THEN p.amount_minor ELSE -p.amount_minor END",
    ),
    (
        "Charge {} spends {} under its kind of care instead of its usual fee or what is asked and given in goods, {}.",
        """SELECT c.id, coalesce(e.spent, 0), want.minor FROM ledger_charge c
            JOIN (SELECT id, CASE WHEN abs(usual_minor) > abs(asked_minor + goods_minor) THEN usual_minor
                ELSE asked_minor + goods_minor END AS minor FROM ledger_charge) want ON want.id = c.id
            LEFT JOIN (SELECT charge_id, sum(amount_minor) AS minor FROM ledger_share WHERE payer = 'nobody'
                GROUP BY charge_id) unpaid ON unpaid.charge_id = c.id
            LEFT JOIN (SELECT p.charge_id, sum(CASE WHEN p.debit_id = k.kind_id THEN p.amount_minor
                WHEN p.credit_id = k.kind_id THEN -p.amount_minor ELSE 0 END) AS spent
                FROM ledger_posting p JOIN ledger_charge k ON k.id = p.charge_id GROUP BY p.charge_id) e
            ON e.charge_id = c.id
            WHERE coalesce(e.spent, 0) + coalesce(unpaid.minor, 0) <> want.minor""",
    ),
    (
        "Charge {} is no mirror of charge {}, which it takes back.",
        "SELECT c.id, o.id FROM ledger_charge c JOIN ledger_charge o ON o.id = c.reverses_id"
        " WHERE c.asked_minor <> -o.asked_minor OR c.usual_minor <> -o.usual_minor OR c.cost_minor <> -o.cost_minor"
        " OR c.goods_minor <> -o.goods_minor OR coalesce(c.time_minor, 0) <> -coalesce(o.time_minor, 0)"
        " OR c.subject_key <> o.subject_key OR c.care_on <> o.care_on",
    ),
    (
        "Charge {} says that {} of the {} given in it were somebody's unpaid time.",
        "SELECT id, time_minor, usual_minor - asked_minor - goods_minor FROM ledger_charge"
        " WHERE abs(time_minor) > abs(usual_minor - asked_minor - goods_minor)"
        " OR time_minor < 0 AND reverses_id IS NULL OR time_minor > 0 AND reverses_id IS NOT NULL",
    ),
    (
        "Gift {} of {} brought in {}.",
        "SELECT g.id, g.amount_minor, coalesce(sum(i.amount_minor), 0) FROM ledger_gift g"
        " LEFT JOIN ledger_inflow i ON i.gift_id = g.id AND i.entry_id = g.entry_id WHERE g.way <> 'past'"
        " GROUP BY g.id, g.amount_minor HAVING g.amount_minor <> coalesce(sum(i.amount_minor), 0)",
    ),
    (
        "Gift {}, from before these books began, or a return of it, moved money in entry {}.",
        "SELECT g.id, p.entry_id FROM ledger_gift g LEFT JOIN ledger_giftreturn r ON r.gift_id = g.id"
        " JOIN ledger_posting p ON p.entry_id = g.entry_id OR p.entry_id = r.entry_id WHERE g.way = 'past'",
    ),
    (
        "Transfers over all funds sum to {}, not to zero.",
        "SELECT sum(CASE WHEN debit_id = 'transfers' THEN amount_minor ELSE -amount_minor END) AS total"
        " FROM ledger_posting WHERE 'transfers' IN (debit_id, credit_id)"
        " HAVING sum(CASE WHEN debit_id = 'transfers' THEN amount_minor ELSE -amount_minor END) <> 0",
    ),
    (
        "The policy {} of {} was set on {}, when that day had passed.",
        "SELECT code, from_on, set_on FROM ledger_policy WHERE from_on < set_on",
    ),
    (
        "The policy {} from {} says {}, which is neither yes nor no.",
        "SELECT code, from_on, value FROM ledger_policy WHERE value NOT IN ('yes', 'no')"
        " AND code IN ('general_ceiling', 'fees_from_general', 'single_signature')",
    ),
    (
        "Entry {} is dated {}, and the books had been closed through {} before it.",
        """SELECT e.id, e."on", c.through_on FROM (SELECT entry_id, through_on,
            coalesce(lead(entry_id) OVER (ORDER BY entry_id), 9000000000000000000) AS until FROM ledger_closing) c
            JOIN ledger_entry e ON e.id > c.entry_id AND e.id < c.until
            AND coalesce(e."on", e."on") <= c.through_on""",  # by number: each entry is looked at once
    ),
    (
        "Entry {} ({}) and its row of the last closed day do not belong together.",
        """SELECT e.id, e.kind FROM ledger_entry e JOIN ledger_closing c ON c.entry_id = e.id
            WHERE e.kind <> CASE WHEN c.reopens_id IS NULL THEN 'closing' ELSE 'reopening' END
            UNION ALL SELECT e.id, e.kind FROM ledger_entry e LEFT JOIN ledger_closing c ON c.entry_id = e.id
            WHERE e.kind IN ('closing', 'reopening') AND c.id IS NULL""",
    ),
    (
        "Entry {} closes the books through {}, when they were closed through {} already.",
        """SELECT entry_id, through_on, stood FROM (SELECT entry_id, through_on, reopens_id,
            lag(through_on) OVER (ORDER BY entry_id) AS stood FROM ledger_closing) c
            WHERE reopens_id IS NULL AND through_on <= stood""",
    ),
    (
        "Entry {} reopens what was not closed last, or to another day than stood before.",
        """SELECT c.entry_id FROM (SELECT entry_id, through_on, reopens_id,
            lag(through_on) OVER (ORDER BY entry_id) AS stood FROM ledger_closing) c
            JOIN (SELECT id, entry_id, reopens_id, through_on, lag(through_on) OVER (ORDER BY entry_id) AS before
                FROM ledger_closing) o ON o.id = c.reopens_id
            WHERE o.reopens_id IS NOT NULL OR o.entry_id > c.entry_id OR c.stood IS NULL OR c.stood <> o.through_on
            OR coalesce(c.through_on, '0001-01-01') <> coalesce(o.before, '0001-01-01')""",
    ),
    (
        "The balance {} is kept by entry {}, which closes nothing.",
        "SELECT b.id, b.entry_id FROM ledger_closingbalance b LEFT JOIN ledger_closing c ON c.entry_id = b.entry_id"
        " WHERE c.id IS NULL OR c.reopens_id IS NOT NULL",
    ),
    (
        "Something ({}) was carried through {} at {}, after that day was closed.",
        f"""SELECT k.what, k.through_on, k.at FROM ledger_carried k JOIN {STANDING} c ON c.through_on >= k.through_on
            JOIN ledger_entry e ON e.id = c.entry_id WHERE k.at > e.recorded_at""",
    ),
    ("The books' pen was left down.", "SELECT 1 FROM ledger_books WHERE is_pen_down"),
    (
        "Agreements {} and {} of one partner overlap.",
        "SELECT a.id, b.id FROM ledger_agreement a JOIN ledger_agreement b ON a.party_key = b.party_key AND a.id < b.id"
        " WHERE (b.until_on IS NULL OR a.from_on <= b.until_on) AND (a.until_on IS NULL OR b.from_on <= a.until_on)",
    ),
    (
        "Gift {} of {} went back for {} in all.",
        "SELECT g.id, g.amount_minor, sum(r.amount_minor) FROM ledger_gift g"
        " JOIN ledger_giftreturn r ON r.gift_id = g.id GROUP BY g.id, g.amount_minor"
        " HAVING sum(r.amount_minor) > g.amount_minor",
    ),
    (
        "Entry {} returns {} of a gift, but {} of the gift left.",
        """SELECT r.entry_id, r.amount_minor, coalesce(sum(u.amount_minor), 0) FROM ledger_giftreturn r
            LEFT JOIN ledger_posting p ON p.entry_id = r.entry_id AND p.back_of_id IS NULL
                AND (SELECT kind FROM ledger_account WHERE code = p.debit_id) = 'income'
            LEFT JOIN ledger_use u ON u.posting_id = p.id
                AND (SELECT i.gift_id FROM ledger_inflow i WHERE i.id = u.inflow_id) = r.gift_id
            WHERE (SELECT g.way FROM ledger_gift g WHERE g.id = r.gift_id) <> 'past'
            GROUP BY r.entry_id, r.amount_minor HAVING r.amount_minor <> coalesce(sum(u.amount_minor), 0)""",
    ),
    (
        "Commitment {} of {} has {} left, but {} of it was spent.",
        "SELECT c.id, c.amount_minor, c.left_minor, coalesce(sum(m.amount_minor), 0) FROM ledger_commitment c"
        " LEFT JOIN ledger_commitmentmove m ON m.commitment_id = c.id GROUP BY c.id, c.amount_minor, c.left_minor"
        " HAVING c.amount_minor <> c.left_minor + coalesce(sum(m.amount_minor), 0)",
    ),
    (
        "Commitment {} was spent on another animal or out of another fund, in entry {}.",
        "SELECT m.commitment_id, m.entry_id FROM ledger_commitmentmove m"
        " JOIN ledger_commitment c ON c.id = m.commitment_id JOIN ledger_posting p ON p.id = m.posting_id"
        " JOIN ledger_charge g ON g.id = p.charge_id WHERE p.fund_id <> c.fund_id OR g.subject_key <> c.subject_key",
    ),
    (
        "Limit {} counts {} of {}, but the shares that follow from the order of payers are {}.",
        f"""SELECT l."key", l.used_minor, l.most_minor, coalesce(sum(s.amount_minor), 0) FROM ledger_limituse l
            LEFT JOIN ({ORDERED}) s ON s.fund_id = l.fund_id AND (l.subject_key = '' OR l.subject_key = s.subject_key)
                AND (l."month" IS NULL OR {MONTH.format("l", '"month"')} = {MONTH.format("s", "care_on")})
            WHERE l.plan_key = '' GROUP BY l.id, l."key", l.used_minor, l.most_minor
            HAVING l.used_minor <> coalesce(sum(s.amount_minor), 0) OR l.used_minor > l.most_minor""",
    ),
    (
        "The ceiling of path {} counts {} of {}, but general money has paid {}.",
        f"""SELECT l.plan_key, l.used_minor, l.most_minor, coalesce(sum(s.amount_minor), 0) FROM ledger_limituse l
            LEFT JOIN ({ORDERED}) s ON s.plan_key = l.plan_key AND s.kind = 'general'
            WHERE l.plan_key <> '' GROUP BY l.id, l.plan_key, l.used_minor, l.most_minor
            HAVING l.used_minor <> coalesce(sum(s.amount_minor), 0) OR l.used_minor > l.most_minor""",
    ),
    (
        "The standing decision {} counts {}, but its shares are {}.",
        f"""SELECT d.id, d.used_minor, coalesce(sum(s.amount_minor), 0) FROM ledger_standingdecision d
            LEFT JOIN ({ROOTED}) s ON s.rooted = 'standing:' || d.id
            GROUP BY d.id, d.used_minor HAVING d.used_minor <> coalesce(sum(s.amount_minor), 0)""",
    ),
)

# What an entry's digest covers, in the order in which it stands there (form 1): the table, and its columns, each
# with what it holds: a whole number where nothing is said, a whole number or nothing (maybe), a code of plain letters.
COVERED = {
    "charges": (
        "ledger_charge",
        "id, subject_key text, party_key text, plan_key text, kind_id code, traits text, care_on day, is_late yes,"
        " quantity_thousandths, unit text, cost_minor, usual_minor, asked_minor, goods_minor, reverses_id maybe,"
        " replaces_id maybe",
    ),
    "advances": ("ledger_advance", "id, donor_id maybe, fund_id, received_on day, until_on day, amount_minor"),
    "bill_payments": ("ledger_billpayment", "id, charge_id, amount_minor"),
    "gifts": (
        "ledger_gift",
        "id, donor_id maybe, way code, received_on day, amount_minor, fee_minor, quantity_thousandths maybe, unit text",
    ),
    "returns": ("ledger_giftreturn", "id, gift_id, how code, amount_minor"),
    "postings": (
        "ledger_posting",
        "id, leg, on day, debit_id code, credit_id code, fund_id, amount_minor, back_of_id maybe, charge_id maybe",
    ),
    "inflows": ("ledger_inflow", "id, posting_id, fund_id, gift_id maybe, received_on day, amount_minor"),
    "shortfalls": ("ledger_shortfall", "id, posting_id, fund_id, amount_minor"),
    "shares": (
        "ledger_share",
        "id, charge_id, payer code, rank, fund_id maybe, reason text, amount_minor, posting_id maybe",
    ),
    "uses": ("ledger_use", "id, posting_id, inflow_id maybe, shortfall_id maybe, amount_minor"),
    "closings": ("ledger_closing", "id, through_on day, reopens_id maybe"),
    "closing_balances": ("ledger_closingbalance", "id, fund_id, account_id code, balance_minor"),
}
# Columns that came later, by part: covered only where they are filled, under their names, behind the others.
LATER = {
    "charges": ("owed_to", "time_minor"),
    "gifts": (
        "clause_unseen", "is_anonymous", "fee_from_general", "original_minor", "original_currency", "advance_id",
        "is_recurring",
    ),
}  # fmt: skip
YES_OR_NO = {"clause_unseen", "is_anonymous", "fee_from_general", "is_recurring"}  # numbers on SQLite
