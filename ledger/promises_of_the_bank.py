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
)
