"""Which tables are kept how, the same on both engines."""

# Append-only, row by row; each joins an entry and is covered by its digest.
PARTS = {
    "ledger_charge": ("id", "entry_id", "reverses_id", "replaces_id"),
    "ledger_advance": ("id", "entry_id"),
    "ledger_billpayment": ("id", "entry_id"),
    "ledger_gift": ("id", "entry_id"),
    "ledger_giftreturn": ("id", "entry_id"),
    "ledger_posting": ("id", "entry_id, leg"),
    "ledger_inflow": ("id",),
    "ledger_shortfall": ("id",),
    "ledger_share": ("id", "posting_id"),
    "ledger_use": ("id",),
    "ledger_commitmentmove": ("id",),
    "ledger_words": ("entry_id",),
    "ledger_closing": ("id", "entry_id", "reopens_id"),
    "ledger_closingbalance": ("id", "entry_id, fund_id, account_id"),
}
# Parts of which one column is kept by trigger, with the columns that never change.
KEPT = {
    "ledger_inflow": (
        "left_minor",
        ("id", "entry_id", "posting_id", "fund_id", "gift_id", "received_on", "amount_minor"),
    ),
    "ledger_shortfall": ("left_minor", ("id", "entry_id", "posting_id", "fund_id", "amount_minor")),
}
# Rows of which some columns never change and which are never deleted.
FIXED = {
    "ledger_account": ("ACCOUNT_FIXED", ("code", "kind"), ("code",)),
    "ledger_fund": (
        "PURPOSE_FIXED",
        ("id", "key", "kind", "is_restricted", "party_key", "subject_key", "traits", "opened_on"),
        ("id", "key", "name"),
    ),
    "ledger_agreement": (
        "TERMS_FIXED",
        ("id", "key", "party_key", "fund_id", "percent", '"of"', "kinds", "from_on"),
        ("id", "key"),
    ),
    "ledger_limit": ("LIMIT_FIXED", ("id", "key", "fund_id", "per", "most_minor", "from_on"), ("id", "key")),
    "ledger_ceiling": (
        "LIMIT_FIXED",
        ("id", "plan_key", "subject_key", "most_minor", "set_on", "set_by"),
        ("id", "plan_key"),
    ),
    "ledger_billedmonth": (
        "BILLED_FIXED",
        ("id", "party_key", "month", "billed_on", '"by"'),
        ("id", "party_key, month"),
    ),
    "ledger_commitment": (
        "COMMITMENT_FIXED",
        ("id", "key", "fund_id", "subject_key", "plan_key", "amount_minor", "made_on", "made_by"),
        ("id", "key"),
    ),
    "ledger_donormerge": ("MERGE_FIXED", ("id", "key", "donor_id", "into_id", '"on"', '"by"', "at"), ("id", "key")),
    "ledger_standingdecision": (
        "DECISION_FIXED",
        ("id", "key", "subject_key", "take", "most_minor", "from_on", "made_by", "made_at", "why"),
        ("id", "key"),
    ),
    "ledger_bankreconciliation": (
        "RECONCILED_FIXED",
        (
            "id",
            "key",
            '"on"',
            "as_of",
            "bank_minor",
            "books_minor",
            "waiting_minor",
            "begun_minor",
            "why",
            "signed_by",
            "signed_at",
        ),
        ("id", "key"),
    ),
}
# What a match holds: written before it, and standing until it is undone.
MATCHED = {"ledger_bankmatchline": "line_id", "ledger_bankmatchentry": "entry_id"}
# Append-only rows that join no entry, with their keys.
DATED = {
    "ledger_policy": ("id", "key"),
    "ledger_leftoveranswer": ("id", "key", "entry_id"),
    "ledger_scan": ("id", "key"),
    "ledger_carried": ("id", "key"),
    "ledger_priceapproval": ("id", "key"),
    "ledger_bankstatement": ("id", "account_id, content"),
    "ledger_bankline": ("id", "account_id, identity"),
    "ledger_donorerasure": ("id", "donor_id"),
}
# Of these a reason that somebody typed may be erased when it names a donor who is; the other columns never change.
ERASED = "[erased]"
ERASABLE = {
    "ledger_leftoveranswer": (
        "id", "key", "gift_id", "fund_id", "answer", "amount_minor", "entry_id", "on", "by", "at",
    ),
}  # fmt: skip
PURE_APPEND = tuple(table for table in PARTS if table not in KEPT and table != "ledger_words")
