"""The promises about all other ways in which money comes in, moves and goes out.

Like the others each is a statement of the audit's own that returns the rows which break it.
"""

PROMISES: tuple[tuple[str, str], ...] = (
    (
        "Entry {} moves {} by transfers from one fund more than to others.",
        "SELECT entry_id, sum(CASE WHEN debit_id = 'transfers' THEN amount_minor ELSE -amount_minor END) AS total"
        " FROM ledger_posting WHERE 'transfers' IN (debit_id, credit_id) GROUP BY entry_id"
        " HAVING sum(CASE WHEN debit_id = 'transfers' THEN amount_minor ELSE -amount_minor END) <> 0",
    ),
    (
        "Entry {} (gift {}, received {}) took {} from one fund and brought {} into another.",
        """SELECT entry_id, gift_id, received_on, sum(taken), sum(brought) FROM (
            SELECT u.entry_id, coalesce(i.gift_id, 0) AS gift_id, i.received_on, u.amount_minor AS taken, 0 AS brought
            FROM ledger_use u JOIN ledger_posting p ON p.id = u.posting_id AND p.entry_id = u.entry_id
            JOIN ledger_inflow i ON i.id = u.inflow_id WHERE p.debit_id = 'transfers' AND p.back_of_id IS NULL
            UNION ALL
            SELECT i.entry_id, coalesce(i.gift_id, 0), i.received_on, 0, i.amount_minor FROM ledger_inflow i
            JOIN ledger_posting p ON p.id = i.posting_id WHERE p.credit_id = 'transfers') moved
            GROUP BY entry_id, gift_id, received_on HAVING sum(taken) <> sum(brought)""",
    ),
    (
        "Entry {} moves restricted money of fund {} to another fund, and is no leftover.",
        "SELECT e.id, p.fund_id FROM ledger_posting p JOIN ledger_entry e ON e.id = p.entry_id"
        " JOIN ledger_fund f ON f.id = p.fund_id WHERE f.is_restricted AND p.debit_id = 'transfers'"
        " AND p.back_of_id IS NULL AND e.kind <> 'leftover'",
    ),
    (
        "Entry {} moves what was left of fund {}, of which nobody judged that its clause applies.",
        "SELECT e.id, p.fund_id FROM ledger_posting p JOIN ledger_entry e ON e.id = p.entry_id"
        " JOIN ledger_fund f ON f.id = p.fund_id WHERE e.kind = 'leftover' AND p.debit_id = 'transfers'"
        " AND p.back_of_id IS NULL AND (f.leftover_by IS NULL OR f.leftover_why = '' OR NOT f.is_restricted)",
    ),
    (
        "Entry {} moves what was left of gift {} under a clause that its giver never saw, without an answer.",
        "SELECT e.id, i.gift_id FROM ledger_use u JOIN ledger_posting p ON p.id = u.posting_id"
        " JOIN ledger_entry e ON e.id = u.entry_id JOIN ledger_inflow i ON i.id = u.inflow_id"
        " JOIN ledger_gift g ON g.id = i.gift_id WHERE e.kind = 'leftover' AND p.debit_id = 'transfers'"
        " AND p.back_of_id IS NULL AND g.clause_unseen AND NOT EXISTS (SELECT 1 FROM ledger_leftoveranswer a"
        " WHERE a.entry_id = e.id AND a.gift_id = g.id AND a.fund_id = p.fund_id AND a.answer = 'move')",
    ),
    (
        "The deposit of the partner of fund {} is below zero: {}.",
        """SELECT fund_id, sum(CASE WHEN credit_id = 'partner_deposits' THEN amount_minor ELSE -amount_minor END)
            FROM ledger_posting WHERE 'partner_deposits' IN (debit_id, credit_id) GROUP BY fund_id
            HAVING sum(CASE WHEN credit_id = 'partner_deposits' THEN amount_minor ELSE -amount_minor END) < 0""",
    ),
    (
        "Posting {} pays for management or fundraising out of the restricted fund {}.",
        """SELECT p.id, p.fund_id FROM ledger_posting p JOIN ledger_fund f ON f.id = p.fund_id
            WHERE f.is_restricted AND p.debit_id IN ('management', 'fundraising', 'debts_given_up')""",
    ),
    (
        "Entry {} gives up {} of a debt, but {} of it is a loss.",
        """SELECT e.id, sum(CASE WHEN p.credit_id = 'due_from_partners' THEN p.amount_minor ELSE 0 END),
            sum(CASE WHEN p.debit_id = 'debts_given_up' THEN p.amount_minor ELSE 0 END)
            FROM ledger_entry e JOIN ledger_posting p ON p.entry_id = e.id WHERE e.kind = 'debt' GROUP BY e.id
            HAVING sum(CASE WHEN p.credit_id = 'due_from_partners' THEN p.amount_minor ELSE 0 END)
                <> sum(CASE WHEN p.debit_id = 'debts_given_up' THEN p.amount_minor ELSE 0 END)""",
    ),
    (
        "The bill of charge {} over {} was paid for {} in all.",
        """SELECT c.id, c.asked_minor, sum(b.amount_minor) FROM ledger_billpayment b
            JOIN ledger_charge c ON c.id = b.charge_id LEFT JOIN ledger_entry r ON r.reverses_id = b.entry_id
            WHERE r.id IS NULL GROUP BY c.id, c.asked_minor HAVING sum(b.amount_minor) > c.asked_minor""",
    ),
    (
        "Entry {} pays {} of a bill, but {} left the bank for it.",
        """SELECT b.entry_id, b.amount_minor, coalesce(sum(p.amount_minor), 0) FROM ledger_billpayment b
            LEFT JOIN ledger_posting p ON p.entry_id = b.entry_id AND p.debit_id = 'bills_to_pay'
                AND p.credit_id = 'bank'
            GROUP BY b.entry_id, b.amount_minor HAVING b.amount_minor <> coalesce(sum(p.amount_minor), 0)""",
    ),
    (
        "Charge {} is a bill, yet posting {} owes the practice for it, or the other way round.",
        """SELECT c.id, p.id FROM ledger_charge c JOIN ledger_posting p ON p.charge_id = c.id
            WHERE c.owed_to = 'bill' AND 'due_to_practice' IN (p.debit_id, p.credit_id)
            OR c.owed_to IS NULL AND 'bills_to_pay' IN (p.debit_id, p.credit_id)""",
    ),
    (
        "The conditional gift {} of {} was met or sent back for {} in all.",
        """SELECT a.id, a.amount_minor, coalesce(m.minor, 0) + coalesce(b.minor, 0) FROM ledger_advance a
            LEFT JOIN (SELECT g.advance_id, sum(g.amount_minor) AS minor FROM ledger_gift g
                LEFT JOIN ledger_entry r ON r.reverses_id = g.entry_id WHERE r.id IS NULL GROUP BY g.advance_id) m
                ON m.advance_id = a.id
            LEFT JOIN (SELECT p.entry_id, sum(x.amount_minor) AS minor FROM ledger_posting p
                JOIN ledger_posting x ON x.back_of_id = p.id GROUP BY p.entry_id) b ON b.entry_id = a.entry_id
            WHERE coalesce(m.minor, 0) + coalesce(b.minor, 0) NOT IN (0, a.amount_minor)""",
    ),
    (
        "Fund {} owes {} in refundable advances, but its open conditional gifts are {}.",
        """SELECT f.id, coalesce(o.minor, 0), coalesce(a.minor, 0) FROM ledger_fund f
            LEFT JOIN (SELECT fund_id, sum(CASE WHEN credit_id = 'refundable_advances' THEN amount_minor
                ELSE -amount_minor END) AS minor FROM ledger_posting
                WHERE 'refundable_advances' IN (debit_id, credit_id) GROUP BY fund_id) o ON o.fund_id = f.id
            LEFT JOIN (SELECT v.fund_id, sum(v.amount_minor) AS minor FROM ledger_advance v
                WHERE NOT EXISTS (SELECT 1 FROM ledger_gift g LEFT JOIN ledger_entry r ON r.reverses_id = g.entry_id
                    WHERE g.advance_id = v.id AND r.id IS NULL)
                AND NOT EXISTS (SELECT 1 FROM ledger_posting p JOIN ledger_posting x ON x.back_of_id = p.id
                    WHERE p.entry_id = v.entry_id) GROUP BY v.fund_id) a ON a.fund_id = f.id
            WHERE coalesce(o.minor, 0) <> coalesce(a.minor, 0)""",
    ),
)
