"""The promises about the bank's statements, beside the books.

Like the others each is a statement of the audit's own that returns the rows which break it.
"""

PROMISES: tuple[tuple[str, str], ...] = (
    (
        "The bank statement {} opens with {}, moves {} and closes with {}.",
        "SELECT id, opening_minor, moved_minor, closing_minor FROM ledger_bankstatement"
        " WHERE opening_minor + moved_minor <> closing_minor",
    ),
    (
        "The bank statement {} moves {}, but the lines it brought and those known before sum to {}.",
        """SELECT s.id, s.moved_minor, s.known_minor + coalesce(sum(l.amount_minor), 0) FROM ledger_bankstatement s
            LEFT JOIN ledger_bankline l ON l.statement_id = s.id GROUP BY s.id, s.moved_minor, s.known_minor
            HAVING s.moved_minor <> s.known_minor + coalesce(sum(l.amount_minor), 0)""",
    ),
    (
        "The bank line {} stands on another account than its statement {}, or outside its days.",
        """SELECT l.id, s.id FROM ledger_bankline l JOIN ledger_bankstatement s ON s.id = l.statement_id
            WHERE l.account_id <> s.account_id OR l."on" < s.from_on OR l."on" > s.to_on""",
    ),
    (
        "Bank match {}: its lines moved {} at the bank, its entries {} in the books.",
        """SELECT m.id, l.minor, coalesce(e.minor, 0) FROM ledger_bankmatch m
            JOIN (SELECT x.match_id, sum(b.amount_minor) AS minor FROM ledger_bankmatchline x
                JOIN ledger_bankline b ON b.id = x.line_id GROUP BY x.match_id) l ON l.match_id = m.id
            LEFT JOIN (SELECT x.match_id,
                sum(CASE WHEN p.debit_id = 'bank' THEN p.amount_minor ELSE -p.amount_minor END) AS minor
                FROM ledger_bankmatchentry x JOIN ledger_posting p ON p.entry_id = x.entry_id
                WHERE 'bank' IN (p.debit_id, p.credit_id) GROUP BY x.match_id) e ON e.match_id = m.id
            WHERE l.minor <> coalesce(e.minor, 0)""",
    ),
    (
        "The bank line {} stands in {} matches.",
        """SELECT x.line_id, count(*) FROM ledger_bankmatchline x JOIN ledger_bankmatch m ON m.id = x.match_id
            WHERE m.undone_by IS NULL GROUP BY x.line_id HAVING count(*) > 1""",
    ),
    (
        "Entry {} stands in {} matches with the bank.",
        """SELECT x.entry_id, count(*) FROM ledger_bankmatchentry x JOIN ledger_bankmatch m ON m.id = x.match_id
            WHERE m.undone_by IS NULL GROUP BY x.entry_id HAVING count(*) > 1""",
    ),
    (
        "A part of bank match {} stands otherwise than the match itself, or without it.",
        """SELECT x.match_id FROM (SELECT match_id, stands FROM ledger_bankmatchline
                UNION ALL SELECT match_id, stands FROM ledger_bankmatchentry) x
            LEFT JOIN ledger_bankmatch m ON m.id = x.match_id
            WHERE m.id IS NULL OR x.stands <> (m.undone_by IS NULL)""",
    ),
    (
        "The bank line {} of {} is matched with nothing, yet it was signed as reconciled to {}.",
        """SELECT l.id, l."on", r."on" FROM ledger_bankreconciliation r JOIN ledger_bankline l ON l."on" <= r."on"
            WHERE r.undone_by IS NULL AND NOT EXISTS (SELECT 1 FROM ledger_bankmatchline x WHERE x.line_id = l.id
                AND x.stands)""",
    ),
)
