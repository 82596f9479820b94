"""The sentences of the clinic's triggers, the same on both engines."""

NEVER = "Signed off means signed off: a row of {table} is never changed or deleted."
SEALED = "This fact is signed off and sealed; correct it by a reversal and a new line."
LATE = "The row is signed off; what is added now is a late entry."
KEPT = "A fact of care is taken back, never deleted."
SIGNING = "Signing off seals a fact as it stands; it changes nothing else."
OVERLAP = "Two stays of one animal never overlap."
BOARDED = "A signed-off boarding day lies outside these dates."
LOT_FOLLOWS = "What is left of a lot follows from what moved, and is never written by hand."
LOT_SHORT = "More would leave the lot than is on hand."
LOT_LATER = "A lot is not used before it arrived."
LOT_BACK = "What is put back is what was taken, once, into the same lot."

# Rows that are written once: the table, and its unique keys beside the id.
WRITTEN_ONCE = {
    "clinic_sheetrow": (("sheet_id", "animal_id"),),
    "clinic_boardingday": (("animal_id", "on"),),
    "clinic_signing": (("key",),),
    "clinic_change": (),
    "clinic_eveningseen": (),
    "clinic_wardsheet": (("on",),),
    "clinic_pathdecision": (("key",),),
    "clinic_pathevent": (("key",), ("care_item_id",)),
    "clinic_owner": (("key",),),
    "clinic_approval": (("key",),),
    "clinic_withdrawal": (("key",),),
    "clinic_itempart": (("care_item_id", "grade_id"), ("care_item_id", "supply_id")),
    "clinic_animalcorrection": (),
    "clinic_groupfact": (("key",),),
    "clinic_appeal": (("key",),),
    "clinic_appealend": (("appeal_id",),),
    "clinic_stockcount": (("key",),),
    "clinic_stockmove": (("back_of_id",),),
    "clinic_papernumber": (("key",), ("year", "serial")),
    "clinic_issuedpaper": (("number_id",), ("replaces_id",), ("once",)),
    "clinic_paperwithdrawal": (("paper_id",),),
    "clinic_paperdestruction": (("paper_id",),),
    "clinic_lettertext": (("key",),),
    "clinic_medicalline": (("key",),),
}
# Of these a reason that somebody typed may be erased when it names a donor who is; the other columns never change.
ERASED = "[erased]"
ERASABLE = {
    "clinic_issuedpaper": (
        "id", "number_id", "kind", "donor_id", "gift_id", "partner_id", "from_on", "to_on", "facts", "sha256", "size",
        "once", "replaces_id", "issued_on", "issued_by_id", "issued_at",
    ),
    "clinic_paperwithdrawal": ("id", "paper_id", "is_served", "by_id", "at"),
}  # fmt: skip
# What of a lot never changes after it came, and what its moves change.
LOT_FIXED = (
    "id", "key", "supply_id", "source", "arrived_on", "quantity_millionths", "written", "cost_minor", "number",
    "expires_on", "words", "gift_entry", "count_id", "by_id", "at",
)  # fmt: skip
LOT_MOVED = {"left_millionths": "quantity_millionths", "left_cost": "cost", "left_donated": "donated"}
# What may not move while a fact is being signed off.
FACTS = (
    "key", "animal_id", "on", "service_id", "quantity", "given_free", "emergency", "path_key", "late", "group_fact_id",
    "group_part",
)  # fmt: skip
