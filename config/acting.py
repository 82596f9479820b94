"""Runs one action for a view: one durable transaction, and a refusal told at the form's field."""

from collections.abc import Callable
from typing import TypeVar

from django import forms
from django.db import transaction

from config.refusal import Refusal

T = TypeVar("T")


def act(form: forms.Form, action: Callable[[], T]) -> T | None:
    """Run `action`; on a refusal nothing is written, the form says why, and None is returned."""
    try:
        with transaction.atomic(durable=True):
            return action()
    except Refusal as refused:
        form.add_error(refused.field if refused.field in form.fields else None, str(refused))
        return None
