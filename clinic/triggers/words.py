"""The sentences of the clinic's triggers, the same on both engines."""

NEVER = "Signed off means signed off: a row of {table} is never changed or deleted."
SEALED = "This fact is signed off and sealed; correct it by a reversal and a new line."
LATE = "The row is signed off; what is added now is a late entry."
KEPT = "A fact of care is taken back, never deleted."
SIGNING = "Signing off seals a fact as it stands; it changes nothing else."
OVERLAP = "Two stays of one animal never overlap."
BOARDED = "A signed-off boarding day lies outside these dates."

# Rows that are written once: the table, and its unique keys beside the id.
WRITTEN_ONCE = {
    "clinic_sheetrow": (("sheet_id", "animal_id"),),
    "clinic_boardingday": (("animal_id", "on"),),
    "clinic_signing": (("key",),),
    "clinic_change": (),
    "clinic_eveningseen": (),
    "clinic_wardsheet": (("on",),),
    "clinic_pathdecision": (("key",),),
    "clinic_owner": (("key",),),
    "clinic_approval": (("key",),),
    "clinic_withdrawal": (("key",),),
}
# What may not move while a fact is being signed off.
FACTS = ("key", "animal_id", "on", "service_id", "quantity", "given_free", "emergency", "path_key", "late")
