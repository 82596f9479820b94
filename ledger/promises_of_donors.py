"""What is promised of donors who were merged or erased, asked anew from the raw rows."""

# Where the merges that stand lead from each donor whom they touch; nobody's end where they run in a circle.
ENDS = """WITH RECURSIVE led(id, here) AS (
        SELECT id, id FROM ledger_donor WHERE same_as_id IS NOT NULL
            OR id IN (SELECT donor_id FROM ledger_donormerge WHERE undone_on IS NULL)
        UNION SELECT l.id, m.into_id FROM led l
            JOIN ledger_donormerge m ON m.donor_id = l.here AND m.undone_on IS NULL),
    ends AS (SELECT l.id, l.here FROM led l LEFT JOIN ledger_donormerge m
        ON m.donor_id = l.here AND m.undone_on IS NULL WHERE m.id IS NULL)"""

PROMISES: tuple[tuple[str, str], ...] = (
    (
        "Donor {} is read as {}, but by the merges as {}.",
        f"""{ENDS} SELECT d.id, coalesce(d.same_as_id, d.id), coalesce(e.here, 0) FROM ledger_donor d
            JOIN (SELECT DISTINCT id FROM led) l ON l.id = d.id LEFT JOIN ends e ON e.id = d.id
            WHERE coalesce(d.same_as_id, d.id) <> coalesce(e.here, 0)""",  # noqa: S608
    ),
    (
        "Donor {} was erased on {}, but it is not written down by whom, or their name stands still.",
        """SELECT d.id, coalesce(d.erased_on, e."on") FROM ledger_donor d
            FULL JOIN ledger_donorerasure e ON e.donor_id = d.id
            WHERE (d.erased_on IS NULL) <> (e.id IS NULL)
            OR d.erased_on IS NOT NULL AND d.name NOT LIKE 'A donor whose name was erased on %'""",
    ),
    (
        "Donor {} was erased, but an address or a number of theirs is kept.",
        """SELECT d.id FROM ledger_donor d WHERE d.erased_on IS NOT NULL
            AND (EXISTS (SELECT 1 FROM ledger_donoraddress a WHERE a.donor_id = d.id)
                OR EXISTS (SELECT 1 FROM ledger_donornumber n WHERE n.donor_id = d.id))""",
    ),
    (
        "The merge of donor {} was undone on {}, before it was made on {}.",
        'SELECT donor_id, undone_on, "on" FROM ledger_donormerge WHERE undone_on < "on"',
    ),
)
