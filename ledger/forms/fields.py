"""Fields of the money pages, each with sentences that say what to write instead."""

import uuid
from decimal import Decimal

from django import forms

from config import home

MOST_DIGITS = 14


class KeyField(forms.UUIDField):
    """The key made when the form is shown, so that a form sent twice is one form."""

    def __init__(self) -> None:
        super().__init__(widget=forms.HiddenInput, initial=uuid.uuid4)


class DayField(forms.DateField):
    def __init__(self, label: str, **kwargs) -> None:
        super().__init__(
            label=label,
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            error_messages={"invalid": "Write a date, such as 2026-10-14.", "required": "Choose a date."},
            **kwargs,
        )


class AmountField(forms.DecimalField):
    """An amount that a person types in the home currency; its clean value is whole minor units."""

    def __init__(self, label: str, **kwargs) -> None:
        super().__init__(
            label=label,
            max_digits=MOST_DIGITS,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            error_messages={
                "invalid": "Write an amount in figures, such as 12 or 12.50.",
                "max_digits": "That is more than any amount here can be.",
                "required": "Write an amount.",
            },
            **kwargs,
        )

    def to_python(self, value):
        if isinstance(value, str):
            value = value.strip().replace(" ", "")
        return super().to_python(value)

    def clean(self, value) -> int | None:
        amount = super().clean(value)
        if amount is None:
            return None
        minor = amount * Decimal(10) ** home.digits()
        if minor != minor.to_integral_value():
            raise forms.ValidationError(f"Write at most {home.digits()} digits behind the point.")
        return int(minor)


class QuantityField(forms.DecimalField):
    def __init__(self, label: str, **kwargs) -> None:
        super().__init__(
            label=label,
            max_digits=9,
            decimal_places=3,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            error_messages={
                "invalid": "Write a number, such as 1 or 2.5.",
                "max_decimal_places": "Write at most three digits behind the point.",
                "required": "Write how many.",
            },
            **kwargs,
        )


class LineField(forms.CharField):
    """One line of words with its own length."""

    def __init__(self, label: str, most: int, **kwargs) -> None:
        kwargs.setdefault("error_messages", {"required": "Write it in a few words."})
        super().__init__(label=label, max_length=most, **kwargs)
