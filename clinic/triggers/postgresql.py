"""The clinic's triggers for PostgreSQL: sealed rows, stays that never overlap, lots that follow their moves."""

from clinic.triggers import words
from config.triggers import Function, Trigger


def _raise(sentence: str) -> str:
    return f"RAISE EXCEPTION '{sentence}' USING ERRCODE = 'restrict_violation';"


def _never(table: str) -> list[Trigger]:
    call = f"EXECUTE FUNCTION {table}_never()"
    return [
        Trigger(f"{table}_no_change", table, f"BEFORE UPDATE ON {table} FOR EACH ROW {_but_erased(table)} {call}"),
        Trigger(f"{table}_no_delete", table, f"BEFORE DELETE ON {table} FOR EACH ROW {call}"),
        Trigger(f"{table}_no_truncate", table, f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT {call}"),
    ]


def _but_erased(table: str) -> str:
    fixed = words.ERASABLE.get(table, ())
    moved = " OR ".join(f'NEW."{column}" IS DISTINCT FROM OLD."{column}"' for column in fixed)
    return f"WHEN (NEW.why <> '{words.ERASED}' OR {moved})" if fixed else ""


_SIGNED_ROW = (
    "EXISTS (SELECT 1 FROM clinic_wardsheet s JOIN clinic_sheetrow r ON r.sheet_id = s.id"
    ' WHERE s."on" = NEW."on" AND r.animal_id = NEW.animal_id)'
)
_MOVED = " OR ".join(f'OLD."{column}" IS DISTINCT FROM NEW."{column}"' for column in words.FACTS)
_KEPT_TABLES = ("clinic_careitem", "clinic_stay", "clinic_observation")

_LOT_BY_HAND = " OR ".join(
    (
        "NEW.last_move <= OLD.last_move",
        *(f'OLD."{column}" IS DISTINCT FROM NEW."{column}"' for column in words.LOT_FIXED),
        *(f"NEW.{left} <> OLD.{left} + moved.{left}" for left in words.LOT_MOVED),
    )
)
_SUMS = ", ".join(f"coalesce(sum({moved}), 0) AS {left}" for left, moved in words.LOT_MOVED.items())

STOCK_FUNCTIONS = (
    Function(
        "clinic_supplylot_whole",
        f"""
BEGIN
    IF NEW.left_millionths <> NEW.quantity_millionths OR NEW.left_cost <> NEW.cost_minor * 1000000
        OR NEW.is_averaged OR NEW.last_move <> 0
        OR NEW.left_donated <> (CASE NEW.source WHEN 'given' THEN NEW.left_cost ELSE 0 END)
    THEN {_raise(words.LOT_FOLLOWS)} END IF;
    RETURN NEW;
END""",
    ),
    Function(
        "clinic_supplylot_follows",
        f"""
DECLARE moved record;
BEGIN
    IF NEW.left_millionths < 0 OR NEW.left_cost < 0 THEN {_raise(words.LOT_SHORT)} END IF;
    SELECT {_SUMS} INTO moved FROM clinic_stockmove m
        WHERE m.lot_id = OLD.id AND m.id > OLD.last_move AND m.id <= NEW.last_move;
    IF {_LOT_BY_HAND} THEN {_raise(words.LOT_FOLLOWS)} END IF;
    RETURN NEW;
END""",
    ),
    Function("clinic_supplylot_kept", f"BEGIN {_raise(words.LOT_FOLLOWS)} END"),
    Function(
        "clinic_stockmove_fits",
        f"""
BEGIN
    IF NEW.kind = 'use' AND EXISTS (
        SELECT 1 FROM clinic_supplylot l WHERE l.id = NEW.lot_id AND l.arrived_on > NEW."on"
    ) THEN {_raise(words.LOT_LATER)} END IF;
    IF NEW.kind = 'back' AND NOT EXISTS (
        SELECT 1 FROM clinic_stockmove o WHERE o.id = NEW.back_of_id AND o.kind = 'use' AND o.lot_id = NEW.lot_id
        AND o.charge_key = NEW.charge_key AND o.quantity_millionths = -NEW.quantity_millionths
        AND o.cost = -NEW.cost AND o.donated = -NEW.donated
    ) THEN {_raise(words.LOT_BACK)} END IF;
    RETURN NEW;
END""",
    ),
    Function(
        "clinic_stockmove_moves",
        f"""
BEGIN
    UPDATE clinic_supplylot l SET {", ".join(f"{left} = l.{left} + moved.{left}" for left in words.LOT_MOVED)},
        is_averaged = l.is_averaged OR moved.averaged, last_move = moved.last
    FROM (SELECT lot_id, {_SUMS}, bool_or(kind = 'average') AS averaged, max(id) AS last
        FROM fresh GROUP BY lot_id) moved WHERE l.id = moved.lot_id;
    RETURN NULL;
END""",
    ),
)
STOCK_TRIGGERS = (
    Trigger(
        "clinic_supplylot_whole",
        "clinic_supplylot",
        "BEFORE INSERT ON clinic_supplylot FOR EACH ROW EXECUTE FUNCTION clinic_supplylot_whole()",
    ),
    Trigger(
        "clinic_supplylot_follows",
        "clinic_supplylot",
        "BEFORE UPDATE ON clinic_supplylot FOR EACH ROW EXECUTE FUNCTION clinic_supplylot_follows()",
    ),
    Trigger(
        "clinic_supplylot_kept",
        "clinic_supplylot",
        "BEFORE DELETE ON clinic_supplylot FOR EACH ROW EXECUTE FUNCTION clinic_supplylot_kept()",
    ),
    Trigger(
        "clinic_supplylot_no_truncate",
        "clinic_supplylot",
        "BEFORE TRUNCATE ON clinic_supplylot FOR EACH STATEMENT EXECUTE FUNCTION clinic_supplylot_kept()",
    ),
    Trigger(
        "clinic_stockmove_fits",
        "clinic_stockmove",
        "BEFORE INSERT ON clinic_stockmove FOR EACH ROW EXECUTE FUNCTION clinic_stockmove_fits()",
    ),
    Trigger(
        "clinic_stockmove_moves",
        "clinic_stockmove",
        "AFTER INSERT ON clinic_stockmove REFERENCING NEW TABLE AS fresh FOR EACH STATEMENT"
        " EXECUTE FUNCTION clinic_stockmove_moves()",
    ),
)

FUNCTIONS = (
    *STOCK_FUNCTIONS,
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
        "clinic_itempart_new",
        f"""
BEGIN
    -- Hold the item, so that no signature falls between this look and the insert.
    PERFORM 1 FROM clinic_careitem WHERE id = NEW.care_item_id FOR NO KEY UPDATE;
    IF EXISTS (
        SELECT 1 FROM clinic_careitem c WHERE c.id = NEW.care_item_id AND c.signing_id IS NOT NULL
    ) THEN {_raise(words.SEALED)} END IF;
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
    *STOCK_TRIGGERS,
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
        "clinic_itempart_new",
        "clinic_itempart",
        "BEFORE INSERT ON clinic_itempart FOR EACH ROW EXECUTE FUNCTION clinic_itempart_new()",
    ),
    Trigger(
        "clinic_stay_apart",
        "clinic_stay",
        "BEFORE INSERT OR UPDATE ON clinic_stay FOR EACH ROW EXECUTE FUNCTION clinic_stay_apart()",
    ),
)
