"""Which tables are kept how, the same on both engines."""

# Append-only, row by row; each joins an entry and is covered by its digest.
PARTS = {
    "ledger_charge": ("id", "entry_id", "reverses_id", "replaces_id"),
    "ledger_gift": ("id", "entry_id"),
    "ledger_posting": ("id", "entry_id, leg"),
    "ledger_inflow": ("id",),
    "ledger_shortfall": ("id",),
    "ledger_share": ("id", "posting_id"),
    "ledger_use": ("id",),
    "ledger_words": ("entry_id",),
    "ledger_closing": ("id", "entry_id", "reopens_id"),
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
}
# Append-only rows that join no entry, with their keys.
DATED = {"ledger_policy": ("id", "key"), "ledger_leftoveranswer": ("id", "key", "entry_id")}
PURE_APPEND = tuple(table for table in PARTS if table not in KEPT and table != "ledger_words")
