"""The clinic's triggers for SQLite: sealed rows, stays that never overlap, lots that follow their moves."""

from clinic.triggers import words
from config.triggers import Trigger


def _abort(sentence: str) -> str:
    return f"BEGIN SELECT RAISE(ABORT, '{sentence}'); END"


def _same(columns: tuple[str, ...]) -> str:
    return " AND ".join(f'"{column}" = NEW."{column}"' for column in columns)


def _written_once() -> list[Trigger]:
    """Refuse UPDATE and DELETE, and INSERT OR REPLACE by each unique key, which would delete without a trigger."""
    triggers = []
    for table, keys in words.WRITTEN_ONCE.items():
        never = _abort(words.NEVER.format(table=table))
        triggers.append(Trigger(f"{table}_no_update", table, f"BEFORE UPDATE ON {table} {_but_erased(table)} {never}"))
        triggers.append(Trigger(f"{table}_no_delete", table, f"BEFORE DELETE ON {table} {never}"))
        triggers += _no_replace(table, (("id",), *keys))
    return triggers


def _but_erased(table: str) -> str:
    fixed = words.ERASABLE.get(table, ())
    moved = " OR ".join(f'NEW."{column}" IS NOT OLD."{column}"' for column in fixed)
    return f"WHEN NEW.why IS NOT '{words.ERASED}' OR {moved}" if fixed else ""


def _no_replace(table: str, keys: tuple[tuple[str, ...], ...]) -> list[Trigger]:
    return [
        Trigger(
            f"{table}_no_replace_{number}",
            table,
            f"BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {_same(key)}) "
            + _abort(words.NEVER.format(table=table)),
        )
        for number, key in enumerate(keys)
    ]


_SIGNED_ROW = (
    "EXISTS (SELECT 1 FROM clinic_wardsheet s JOIN clinic_sheetrow r ON r.sheet_id = s.id"
    ' WHERE s."on" = NEW."on" AND r.animal_id = NEW.animal_id)'
)
_MOVED = " OR ".join(f'OLD."{column}" IS NOT NEW."{column}"' for column in words.FACTS)
_OVERLAPS = (
    "EXISTS (SELECT 1 FROM clinic_stay other WHERE other.animal_id = NEW.animal_id AND other.id IS NOT NEW.id"
    " AND other.admitted_on < COALESCE(NEW.discharged_on, '9999-12-31')"
    " AND NEW.admitted_on < COALESCE(other.discharged_on, '9999-12-31'))"
)
_BOARDED_OUTSIDE = (
    'EXISTS (SELECT 1 FROM clinic_boardingday b WHERE b.stay_id = NEW.id AND (b."on" < NEW.admitted_on'
    ' OR (NEW.discharged_on IS NOT NULL AND b."on" >= NEW.discharged_on AND b."on" <> NEW.admitted_on)))'
)

_MOVES_SINCE = (
    '(SELECT coalesce(sum("{moved}"), 0) FROM clinic_stockmove m'
    " WHERE m.lot_id = OLD.id AND m.id > OLD.last_move AND m.id <= NEW.last_move)"
)
_LOT_BY_HAND = " OR ".join(
    (
        "NEW.last_move <= OLD.last_move",
        *(f'OLD."{column}" IS NOT NEW."{column}"' for column in words.LOT_FIXED),
        *(
            f"NEW.{left} IS NOT OLD.{left} + {_MOVES_SINCE.format(moved=moved)}"
            for left, moved in words.LOT_MOVED.items()
        ),
    )
)
_STOCK = (
    *_no_replace("clinic_supplylot", (("id",), ("key",), ("count_id",))),
    Trigger(
        "clinic_supplylot_whole",
        "clinic_supplylot",
        "BEFORE INSERT ON clinic_supplylot WHEN NEW.left_millionths IS NOT NEW.quantity_millionths"
        " OR NEW.left_cost IS NOT NEW.cost_minor * 1000000 OR NEW.is_averaged OR NEW.last_move <> 0"
        " OR NEW.left_donated IS NOT (CASE NEW.source WHEN 'given' THEN NEW.left_cost ELSE 0 END) "
        + _abort(words.LOT_FOLLOWS),
    ),
    Trigger(
        "clinic_supplylot_short",
        "clinic_supplylot",
        "BEFORE UPDATE ON clinic_supplylot WHEN NEW.left_millionths < 0 OR NEW.left_cost < 0 "
        + _abort(words.LOT_SHORT),
    ),
    Trigger(
        "clinic_supplylot_follows",
        "clinic_supplylot",
        f"BEFORE UPDATE ON clinic_supplylot WHEN {_LOT_BY_HAND} {_abort(words.LOT_FOLLOWS)}",
    ),
    Trigger(
        "clinic_supplylot_kept", "clinic_supplylot", f"BEFORE DELETE ON clinic_supplylot {_abort(words.LOT_FOLLOWS)}"
    ),
    Trigger(
        "clinic_stockmove_later",
        "clinic_stockmove",
        "BEFORE INSERT ON clinic_stockmove WHEN NEW.kind = 'use' AND EXISTS (SELECT 1 FROM clinic_supplylot l"
        f' WHERE l.id = NEW.lot_id AND l.arrived_on > NEW."on") {_abort(words.LOT_LATER)}',
    ),
    Trigger(
        "clinic_stockmove_back",
        "clinic_stockmove",
        "BEFORE INSERT ON clinic_stockmove WHEN NEW.kind = 'back' AND NOT EXISTS (SELECT 1 FROM clinic_stockmove o"
        " WHERE o.id = NEW.back_of_id AND o.kind = 'use' AND o.lot_id = NEW.lot_id AND o.charge_key = NEW.charge_key"
        " AND o.quantity_millionths = -NEW.quantity_millionths AND o.cost = -NEW.cost AND o.donated = -NEW.donated) "
        + _abort(words.LOT_BACK),
    ),
    Trigger(
        "clinic_stockmove_moves",
        "clinic_stockmove",
        "AFTER INSERT ON clinic_stockmove BEGIN UPDATE clinic_supplylot SET "
        + ", ".join(f"{left} = {left} + NEW.{moved}" for left, moved in words.LOT_MOVED.items())
        + ", is_averaged = (is_averaged OR NEW.kind = 'average'), last_move = NEW.id WHERE id = NEW.lot_id; END",
    ),
)

TRIGGERS = (
    *_written_once(),
    *_STOCK,
    *_no_replace("clinic_careitem", (("id",), ("key",))),
    Trigger(
        "clinic_careitem_sealed",
        "clinic_careitem",
        f"BEFORE UPDATE ON clinic_careitem WHEN OLD.signing_id IS NOT NULL {_abort(words.SEALED)}",
    ),
    Trigger(
        "clinic_careitem_signed_as_it_stands",
        "clinic_careitem",
        f"BEFORE UPDATE ON clinic_careitem WHEN NEW.signing_id IS NOT NULL AND ({_MOVED}) {_abort(words.SIGNING)}",
    ),
    Trigger(
        "clinic_careitem_not_into_signed",
        "clinic_careitem",
        "BEFORE UPDATE ON clinic_careitem WHEN NEW.signing_id IS NULL AND NEW.late = 0 AND "
        f"{_SIGNED_ROW} {_abort(words.LATE)}",
    ),
    Trigger(
        "clinic_careitem_late",
        "clinic_careitem",
        f"BEFORE INSERT ON clinic_careitem WHEN NEW.late = 0 AND {_SIGNED_ROW} {_abort(words.LATE)}",
    ),
    Trigger(
        "clinic_careitem_born_open",
        "clinic_careitem",
        f"BEFORE INSERT ON clinic_careitem WHEN NEW.signing_id IS NOT NULL {_abort(words.SIGNING)}",
    ),
    Trigger(
        "clinic_itempart_sealed",
        "clinic_itempart",
        "BEFORE INSERT ON clinic_itempart WHEN EXISTS (SELECT 1 FROM clinic_careitem c WHERE c.id = NEW.care_item_id"
        f" AND c.signing_id IS NOT NULL) {_abort(words.SEALED)}",
    ),
    Trigger("clinic_careitem_kept", "clinic_careitem", f"BEFORE DELETE ON clinic_careitem {_abort(words.KEPT)}"),
    Trigger(
        "clinic_stay_apart_insert",
        "clinic_stay",
        f"BEFORE INSERT ON clinic_stay WHEN {_OVERLAPS} {_abort(words.OVERLAP)}",
    ),
    Trigger(
        "clinic_stay_apart_update",
        "clinic_stay",
        "BEFORE UPDATE OF id, animal_id, admitted_on, discharged_on ON clinic_stay WHEN "
        f"{_OVERLAPS} {_abort(words.OVERLAP)}",
    ),
    Trigger(
        "clinic_stay_boarded",
        "clinic_stay",
        "BEFORE UPDATE OF id, admitted_on, discharged_on ON clinic_stay WHEN "
        f"{_BOARDED_OUTSIDE} {_abort(words.BOARDED)}",
    ),
)
