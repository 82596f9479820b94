"""The policies in force on a day: since when, set by whom and why (H3)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from config import home
from config.templating import minor_text
from ledger.formulas import policies as catalog
from ledger.models import Policy

AS_BEGUN = "as the house began"


@dataclass(frozen=True, kw_only=True)
class PolicyLine:
    """One row of a policy, or its answer before anybody set one: then `from_on`, `by` and `set_on` are empty."""

    value: catalog.Value
    words: str
    from_on: date | None
    set_on: date | None
    by: str
    why: str
    replaced: bool = False


@dataclass(frozen=True, kw_only=True)
class PolicyInForce:
    """A policy as it stands on a day, and the next change where one is set already."""

    code: str
    rule: str
    name: str
    question: str
    note: str
    now: PolicyLine
    next: PolicyLine | None


@dataclass(frozen=True, kw_only=True)
class PolicyStory:
    """One policy with every row that was ever set, the latest first, and its answer as the house began."""

    policy: PolicyInForce
    lines: tuple[PolicyLine, ...]


def policy(*, code: str, on: date) -> catalog.Value:
    """Return the value of a policy on a day: yes or no, an amount in minor units or None, or a word.

    :raises PolicyUnknown: when there is no such policy.
    """
    default = catalog.known(code).default
    row = Policy.objects.filter(code=code, from_on__lte=on).order_by("-from_on", "-id").first()
    return catalog.read(code, row.value if row else default)


def policy_by_day(*, code: str) -> Callable[[date], catalog.Value]:
    """Return what tells a policy's value on any day, its rows read once.

    :raises PolicyUnknown: when there is no such policy.
    """
    default = catalog.known(code).default
    rows = list(Policy.objects.filter(code=code).order_by("-from_on", "-id").values_list("from_on", "value"))
    return lambda on: catalog.read(code, next((value for from_on, value in rows if from_on <= on), default))


def policies(*, on: date) -> tuple[PolicyInForce, ...]:
    """Return every policy as it stands on the day `on`."""
    rows: dict[str, list[Policy]] = {}
    for row in Policy.objects.order_by("from_on", "id"):
        rows.setdefault(row.code, []).append(row)
    return tuple(_in_force(known, rows.get(known.code, []), on) for known in catalog.CATALOG.values())


def policy_story(*, code: str, on: date) -> PolicyStory | None:
    """Return one policy with its rows, or None when there is no such policy."""
    if code not in catalog.CATALOG:
        return None
    rows = list(Policy.objects.filter(code=code).order_by("from_on", "id"))
    last = {row.from_on: row.id for row in rows}
    lines = [_line(row, replaced=last[row.from_on] != row.id) for row in reversed(rows)]
    known = catalog.known(code)
    return PolicyStory(policy=_in_force(known, rows, on), lines=(*lines, _as_begun(known)))


def _in_force(known: catalog.Policy, rows: list[Policy], on: date) -> PolicyInForce:
    begun = [row for row in rows if row.from_on <= on]
    ahead = [row for row in rows if row.from_on > on]
    after = [row for row in ahead if row.from_on == ahead[0].from_on]
    return PolicyInForce(
        code=known.code,
        rule=known.rule,
        name=known.name,
        question=known.question,
        note=known.note,
        now=_line(begun[-1]) if begun else _as_begun(known),
        next=_line(after[-1]) if after else None,
    )


def _line(row: Policy, *, replaced: bool = False) -> PolicyLine:
    return PolicyLine(
        value=catalog.read(row.code, row.value),
        words=_words(row.code, row.value),
        from_on=row.from_on,
        set_on=row.set_on,
        by=home.person(row.by),
        why=row.why,
        replaced=replaced,
    )


def _as_begun(known: catalog.Policy) -> PolicyLine:
    return PolicyLine(
        value=catalog.read(known.code, known.default),
        words=_words(known.code, known.default),
        from_on=None,
        set_on=None,
        by="",
        why=AS_BEGUN,
    )


def _words(code: str, text: str) -> str:
    known, value = catalog.known(code), catalog.read(code, text)
    if known.is_amount:
        return "none" if value is None else minor_text(int(value), home.digits())
    return dict(known.answers)[text]
