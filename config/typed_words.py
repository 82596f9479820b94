"""Looks through the words that people typed, in every table of both rooms, and takes a person's name out of them.

It is the last step of an erasure: what has a place of its own is erased there. A row that is kept as it was written
stays, and is told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from django.apps import apps
from django.db import IntegrityError, models, transaction
from django.db.models import Q

ERASED = "[erased]"
ROOMS = ("ledger", "clinic")
# Names of other people and houses: one who bears the same name keeps it. Words that have a place of their own.
OTHERS = frozenset({"ledger.Donor", "ledger.DonorAddress", "ledger.Holder", "ledger.Words", "ledger.BankRule",
                    "clinic.User", "clinic.Partner", "clinic.House"})  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where words hold what was looked for; `is_kept` where the row is never changed."""

    table: str
    column: str
    number: int
    words: str
    is_kept: bool = False


def places(*, sought: Iterable[str], holds: Callable[[str], bool]) -> tuple[Place, ...]:
    """Return where typed words hold what is sought; `holds` decides on each that comes into question."""
    return tuple(place for place, *_ in _found(list(sought), holds))


def mask(*, sought: Iterable[str], holds: Callable[[str], bool], masked: Callable[[str], str]) -> tuple[Place, ...]:
    """Take what is sought out of typed words; return the places where a row is never changed and still holds it."""
    left = []
    for place, model, field in _found(list(sought), holds):
        plain = masked(place.words)
        row = model._default_manager.filter(pk=place.number)
        # A name that nothing else may bear gets its number; a row may let the mark alone in, or nothing at all.
        if not any(_written(row, field, said) for said in (plain, f"{plain} {place.number}", ERASED, "")):
            left.append(Place(**{**vars(place), "is_kept": True}))
    return tuple(left)


def _written(row: models.QuerySet, field: models.Field, said: str) -> bool:
    try:
        with transaction.atomic():
            return bool(row.update(**{field.name: said[: field.max_length]}))
    except IntegrityError:
        return False


def _found(sought: list[str], holds: Callable[[str], bool]) -> Iterator[tuple[Place, type[models.Model], models.Field]]:
    if not sought:
        return
    for model in (model for room in ROOMS for model in apps.get_app_config(room).get_models()):
        if model._meta.label in OTHERS:
            continue
        for field in _text_fields(model):
            rows = model._default_manager.filter(_may_hold(field, sought)).order_by("pk")
            for number, words in list(rows.values_list("pk", field.name)):
                if holds(words):
                    names = {"table": str(model._meta.verbose_name), "column": str(field.verbose_name)}
                    yield Place(**names, number=number, words=words), model, field


def _text_fields(model: type[models.Model]) -> Iterator[models.Field]:
    for field in model._meta.concrete_fields:
        is_text = isinstance(field, models.CharField | models.TextField)
        if is_text and not field.choices and not field.primary_key:
            yield field


def _may_hold(field: models.Field, sought: list[str]) -> Q:
    """Compare by the longest word, in the four ways it is written: an engine may know case in plain letters alone."""
    wanted = Q()
    for one in sought:
        first = max(one.split(), key=len)
        for written in {first, first.upper(), first.lower(), first.title()}:
            wanted |= Q(**{f"{field.name}__icontains": written})
    return wanted
