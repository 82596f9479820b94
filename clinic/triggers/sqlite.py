"""The clinic's triggers for SQLite: sealed rows, and stays that never overlap."""

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
        triggers.append(Trigger(f"{table}_no_update", table, f"BEFORE UPDATE ON {table} {never}"))
        triggers.append(Trigger(f"{table}_no_delete", table, f"BEFORE DELETE ON {table} {never}"))
        triggers += _no_replace(table, (("id",), *keys))
    return triggers


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

TRIGGERS = (
    *_written_once(),
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
