"""The facts of a paper, stretched: long names, one line, two hundred lines, nothing, less than nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import Field, fields, is_dataclass, replace
from typing import Any

NAMES = {
    "address", "animal", "donor", "donor_name", "fund", "fund_name", "given_by", "given_for", "holder", "house",
    "house_address", "name", "partner", "partner_name", "signer", "species", "subject", "words",
}  # fmt: skip
TAIL = " and Wrenfield-Osterhaven of the Upper Castellamare"
LINES = 200
State = Callable[[Any], Any]


def _everywhere(facts: Any, change: Callable[[str, Any], Any], name: str = "") -> Any:
    """Return facts with each value changed, inmost first; drawings stay as they are."""
    if _is_ours(facts):
        made = {field.name: _everywhere(getattr(facts, field.name), change, field.name) for field in _fields(facts)}
        return change(name, replace(facts, **made))
    if isinstance(facts, tuple) and type(facts) is tuple:
        return change(name, tuple(_everywhere(one, change, name) for one in facts))
    return change(name, facts)


def _is_ours(value: Any) -> bool:
    """Say whether it is facts of a paper; a drawing is none."""
    is_fact = is_dataclass(value) and not isinstance(value, type)
    return is_fact and not type(value).__module__.startswith("config.charts")


def _fields(facts: Any) -> list[Field]:
    return [field for field in fields(facts) if field.init]


def as_it_is(facts: Any) -> Any:
    return facts


def long_names(facts: Any) -> Any:
    def change(name: str, value: Any) -> Any:
        return value + TAIL if isinstance(value, str) and value and name in NAMES else value

    return _everywhere(facts, change)


def _is_list(value: Any) -> bool:
    return type(value) is tuple and len(value) > 0 and all(_is_ours(one) for one in value)


def one_line(facts: Any) -> Any:
    """Cut the longest list to one line; the others belong to it or to the paper's shape."""
    longest = max((len(one) for one in _lists(facts)), default=0)
    return _everywhere(facts, lambda name, value: value[:1] if _is_list(value) and len(value) == longest else value)


def many_lines(facts: Any) -> Any:
    """Lengthen the longest list to two hundred lines; what lies inside a line stays."""
    longest = max((len(one) for one in _lists(facts)), default=0)

    def change(value: Any) -> Any:
        if _is_list(value) and len(value) == longest:
            return (value * LINES)[:LINES]
        if _is_ours(value):
            return replace(value, **{field.name: change(getattr(value, field.name)) for field in _fields(value)})
        return value

    return change(facts)


def _lists(facts: Any) -> Iterator[tuple[Any, ...]]:
    for value in (getattr(facts, field.name) for field in _fields(facts)) if _is_ours(facts) else ():
        if _is_list(value):
            yield value
        else:
            yield from _lists(value)


def _figures(facts: Any, figure: Callable[[int], int]) -> Any:
    def change(name: str, value: Any) -> Any:
        if name.endswith("_minor") or name in {"paid", "cells"}:
            return figure(value) if isinstance(value, int) and not isinstance(value, bool) else value
        return value

    return _everywhere(facts, change)


def nothing(facts: Any) -> Any:
    return _figures(facts, lambda value: 0)


def less_than_nothing(facts: Any) -> Any:
    return _figures(facts, lambda value: -abs(value))


STATES: tuple[State, ...] = (as_it_is, long_names, one_line, many_lines, nothing, less_than_nothing)
