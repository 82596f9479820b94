"""Runs one action for a view: one durable transaction, and a refusal told at the form's field."""

from collections.abc import Callable
from typing import TypeVar

from django import forms
from django.db import IntegrityError, transaction

from config.refusal import Refusal

T = TypeVar("T")


def act(form: forms.Form, action: Callable[[], T]) -> T | None:
    """Run `action`; on a refusal nothing is written, the form says why, and None is returned.

    Where two forms with one key arrive at the same moment, the later one breaks on what the other has just written:
    it is run once more, and then finds it there.
    """
    try:
        try:
            return _run(action)
        except IntegrityError:
            return _run(action)
    except Refusal as refused:
        tell(form, refused)
        return None


def tell(form: forms.Form, refused: Refusal) -> None:
    """Tell a refusal at its field, at the head of the form where it has none."""
    form.add_error(refused.field if refused.field in form.fields else None, str(refused))


def _run(action: Callable[[], T]) -> T:
    with transaction.atomic(durable=True):
        return action()
