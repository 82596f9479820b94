"""The clinic's triggers for PostgreSQL: sealed rows, and stays that never overlap."""

from clinic.triggers import words
from config.triggers import Function, Trigger


def _raise(sentence: str) -> str:
    return f"RAISE EXCEPTION '{sentence}' USING ERRCODE = 'restrict_violation';"


def _never(table: str) -> list[Trigger]:
    call = f"EXECUTE FUNCTION {table}_never()"
    return [
        Trigger(f"{table}_no_change", table, f"BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW {call}"),
        Trigger(f"{table}_no_truncate", table, f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT {call}"),
    ]


_SIGNED_ROW = (
    "EXISTS (SELECT 1 FROM clinic_wardsheet s JOIN clinic_sheetrow r ON r.sheet_id = s.id"
    ' WHERE s."on" = NEW."on" AND r.animal_id = NEW.animal_id)'
)
_MOVED = " OR ".join(f'OLD."{column}" IS DISTINCT FROM NEW."{column}"' for column in words.FACTS)
_KEPT_TABLES = ("clinic_careitem", "clinic_stay", "clinic_observation")

FUNCTIONS = (
    *(
        Function(f"{table}_never", f"BEGIN {_raise(words.NEVER.format(table=table))} END")
        for table in words.WRITTEN_ONCE
    ),
    Function("clinic_kept", f"BEGIN {_raise(words.KEPT)} END"),
    Function(
        "clinic_careitem_changed",
        f"""
BEGIN
    IF OLD.signing_id IS NOT NULL THEN {_raise(words.SEALED)} END IF;
    IF NEW.signing_id IS NOT NULL AND ({_MOVED}) THEN {_raise(words.SIGNING)} END IF;
    IF NEW.signing_id IS NULL AND NOT NEW.late AND {_SIGNED_ROW} THEN {_raise(words.LATE)} END IF;
    RETURN NEW;
END""",
    ),
    Function(
        "clinic_careitem_new",
        f"""
BEGIN
    IF NEW.signing_id IS NOT NULL THEN {_raise(words.SIGNING)} END IF;
    IF NOT NEW.late AND {_SIGNED_ROW} THEN {_raise(words.LATE)} END IF;
    RETURN NEW;
END""",
    ),
    Function(
        "clinic_stay_apart",
        f"""
BEGIN
    -- One at a time per animal: a second writer sees the first one's stay.
    PERFORM 1 FROM clinic_animal WHERE id = NEW.animal_id FOR NO KEY UPDATE;
    IF EXISTS (
        SELECT 1 FROM clinic_stay other WHERE other.animal_id = NEW.animal_id AND other.id <> NEW.id
        AND other.admitted_on < COALESCE(NEW.discharged_on, 'infinity'::date)
        AND NEW.admitted_on < COALESCE(other.discharged_on, 'infinity'::date)
    ) THEN {_raise(words.OVERLAP)} END IF;
    IF EXISTS (
        SELECT 1 FROM clinic_boardingday b WHERE b.stay_id = NEW.id AND (b."on" < NEW.admitted_on
        OR (NEW.discharged_on IS NOT NULL AND b."on" >= NEW.discharged_on AND b."on" <> NEW.admitted_on))
    ) THEN {_raise(words.BOARDED)} END IF;
    RETURN NEW;
END""",
    ),
)

TRIGGERS = (
    *(trigger for table in words.WRITTEN_ONCE for trigger in _never(table)),
    *(
        Trigger(
            f"{table}_no_truncate",
            table,
            f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION clinic_kept()",
        )
        for table in _KEPT_TABLES
    ),
    Trigger(
        "clinic_careitem_kept",
        "clinic_careitem",
        "BEFORE DELETE ON clinic_careitem FOR EACH ROW EXECUTE FUNCTION clinic_kept()",
    ),
    Trigger(
        "clinic_careitem_changed",
        "clinic_careitem",
        "BEFORE UPDATE ON clinic_careitem FOR EACH ROW EXECUTE FUNCTION clinic_careitem_changed()",
    ),
    Trigger(
        "clinic_careitem_new",
        "clinic_careitem",
        "BEFORE INSERT ON clinic_careitem FOR EACH ROW EXECUTE FUNCTION clinic_careitem_new()",
    ),
    Trigger(
        "clinic_stay_apart",
        "clinic_stay",
        "BEFORE INSERT OR UPDATE ON clinic_stay FOR EACH ROW EXECUTE FUNCTION clinic_stay_apart()",
    ),
)
