"""Cleans the file of `manage.py compare_paths` into a plan; every refusal names its field."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from clinic.forms import json_text
from clinic.formulas.staged_path import Operation, Plan, Single, Step
from ledger.formulas import money

BYTES_MOST = 1_000_000
OPERATIONS_MOST = 100
LARGEST = 10**12
PLAIN_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?", re.ASCII)

FIELDS = {
    "": {"currency", "spent_so_far", "daily_cost", "staged", "fallback", "single"},
    "staged": {"attempts", "after_success"},
    "attempt": {"cost", "success", "days"},
    "staged.after_success": {"cost", "days"},
    "fallback": {"cost", "days"},
    "single": {"cost", "days", "complication"},
    "single.complication": {"probability", "cost"},
}


class BadPlanFile(ValueError):
    """The file holds no plan that can be computed; the message is one sentence that names the field."""


@dataclass(frozen=True, kw_only=True)
class PlanFile:
    """What a plan file says: the plan, its currency, what is spent, and the fields that are not known."""

    currency: str
    spent: Fraction
    plan: Plan
    unknown_fields: tuple[str, ...]


def read_file(*, path: Path) -> PlanFile:
    """Read and check a plan file.

    :raises BadPlanFile: for a file that is missing, too large, not JSON, or not a plan.
    """
    try:
        content = json_text.read_bytes(path=path, most=BYTES_MOST)
    except json_text.Unreadable as obstacle:
        raise BadPlanFile(str(obstacle)) from None
    return read_text(content=content)


def read_text(*, content: bytes) -> PlanFile:
    """Check the content of a plan file.

    :raises BadPlanFile: naming the field that is missing, of the wrong kind, or out of range.
    """
    try:
        root = json_text.parse(content=content)
    except json_text.Unreadable as obstacle:
        raise BadPlanFile(str(obstacle)) from None
    if not isinstance(root, dict):
        raise BadPlanFile('The file must hold one JSON object with the fields "currency", "staged" and so on.')
    reader = _Reader(root)
    return PlanFile(
        currency=reader.currency(),
        spent=reader.amount(reader.root, "", "spent_so_far"),
        plan=reader.plan(),
        unknown_fields=tuple(reader.unknown),
    )


class _Reader:
    """Walks the fields in their order; the first that is wrong is the one that is named."""

    def __init__(self, root: dict[str, Any]) -> None:
        self.root = root
        self.unknown: list[str] = []
        self._note_unknown(root, "", FIELDS[""])

    def currency(self) -> str:
        code = self._take(self.root, "", "currency")
        if not isinstance(code, str) or code not in money.MINOR_UNITS:
            raise BadPlanFile(
                f'The field "currency" must be the code of a currency, such as USD; it is "{json_text.short(code)}".'
            )
        return code

    def plan(self) -> Plan:
        daily_cost = self.amount(self.root, "", "daily_cost")
        staged = self._object(self.root, "", "staged", FIELDS["staged"])
        attempts = self._take(staged, "staged", "attempts")
        if not isinstance(attempts, list):
            raise BadPlanFile('The field "staged.attempts" must be a list.')
        if not attempts:
            raise BadPlanFile('The field "staged.attempts" is empty: a staged path needs at least one attempt.')
        if len(attempts) > OPERATIONS_MOST:
            raise BadPlanFile(f'The field "staged.attempts" has more than {OPERATIONS_MOST} attempts.')
        return Plan(
            operations=tuple(self._operation(entry, number) for number, entry in enumerate(attempts, start=1)),
            after_success=self._step(staged, "staged", "after_success"),
            fallback=self._step(self.root, "", "fallback"),
            single=self._single(),
            daily_cost=daily_cost,
        )

    def _operation(self, entry: object, number: int) -> Operation:
        where = f"staged.attempts[{number}]"
        if not isinstance(entry, dict):
            raise BadPlanFile(f'The field "{where}" must be an object with cost, success and days.')
        self._note_unknown(entry, where, FIELDS["attempt"])
        return Operation(
            cost=self.amount(entry, where, "cost"),
            success=self._chance(entry, where, "success"),
            days=self.amount(entry, where, "days"),
        )

    def _step(self, parent: dict[str, Any], where: str, name: str) -> Step:
        place = f"{where}.{name}" if where else name
        found = self._object(parent, where, name, FIELDS[place])
        return Step(cost=self.amount(found, place, "cost"), days=self.amount(found, place, "days"))

    def _single(self) -> Single:
        found = self._object(self.root, "", "single", FIELDS["single"])
        cost, days = self.amount(found, "single", "cost"), self.amount(found, "single", "days")
        worse = self._object(found, "single", "complication", FIELDS["single.complication"])
        return Single(
            cost=cost,
            days=days,
            complication=self._chance(worse, "single.complication", "probability"),
            complication_cost=self.amount(worse, "single.complication", "cost"),
        )

    def amount(self, parent: dict[str, Any], where: str, name: str) -> Fraction:
        """Return a cost or a number of days, which is never below zero."""
        value = self._decimal(parent, where, name)
        if value < 0:
            raise BadPlanFile(f'The field "{_place(where, name)}" is below zero.')
        if value >= LARGEST:
            raise BadPlanFile(f'The field "{_place(where, name)}" is larger than any cost can be.')
        return value

    def _chance(self, parent: dict[str, Any], where: str, name: str) -> Fraction:
        value = self._decimal(parent, where, name)
        if not 0 <= value <= 1:
            raise BadPlanFile(f'The field "{_place(where, name)}" is a chance and must lie between 0 and 1.')
        return value

    def _decimal(self, parent: dict[str, Any], where: str, name: str) -> Fraction:
        value = self._take(parent, where, name)
        if isinstance(value, str) and len(value) <= json_text.DIGITS_MOST and PLAIN_NUMBER.fullmatch(value):
            value = Decimal(value)
        if not isinstance(value, Decimal) or abs(value.adjusted()) > json_text.DIGITS_MOST:
            raise BadPlanFile(
                f'The field "{_place(where, name)}" must be a number such as 1200.00; it is "{json_text.short(value)}".'
            )
        return Fraction(value)

    def _object(self, parent: dict[str, Any], where: str, name: str, fields: set[str]) -> dict[str, Any]:
        value = self._take(parent, where, name)
        if not isinstance(value, dict):
            raise BadPlanFile(f'The field "{_place(where, name)}" must be an object in curly brackets.')
        self._note_unknown(value, _place(where, name), fields)
        return value

    def _take(self, parent: dict[str, Any], where: str, name: str) -> Any:
        if name not in parent:
            raise BadPlanFile(f'The field "{_place(where, name)}" is missing.')
        return parent[name]

    def _note_unknown(self, parent: dict[str, Any], where: str, fields: set[str]) -> None:
        self.unknown += [_place(where, json_text.short(name)) for name in parent if name not in fields]


def _place(where: str, name: str) -> str:
    return f"{where}.{name}" if where else name
