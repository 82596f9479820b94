"""The form fields of both rooms, each with sentences that say what to write instead."""

import re
import uuid
from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from django import forms

from config import home

DECIMAL_BOX = {"inputmode": "decimal", "autocomplete": "off"}  # opens the number keys of a tablet
MOST_DIGITS = 14
THOUSANDS = re.compile(r"-?\d{1,3}(,\d{3})+(\.\d+)?")  # as every page prints amounts: 1,238.98


class KeyField(forms.UUIDField):
    """The key made when the form is shown, so that a form sent twice is one form."""

    def __init__(self) -> None:
        super().__init__(widget=forms.HiddenInput, initial=uuid.uuid4)


EARLIEST, LATEST = date(1900, 1, 1), date(2199, 12, 31)


class DayField(forms.DateField):
    """A day of the calendar that people here may mean."""

    def clean(self, value):
        day = super().clean(value)
        if day is not None and not EARLIEST <= day <= LATEST:
            raise forms.ValidationError("Write a date between 1900 and 2199.")
        return day

    def __init__(self, label: str, **kwargs) -> None:
        super().__init__(
            label=label,
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            error_messages={"invalid": "Write a date, such as 2026-10-14.", "required": "Choose a date."},
            **kwargs,
        )


class LineField(forms.CharField):
    """One line of words with its own length."""

    def __init__(self, label: str, most: int, **kwargs) -> None:
        kwargs.setdefault("error_messages", {"required": "Write it in a few words."})
        super().__init__(label=label, max_length=most, **kwargs)


class QuantityField(forms.DecimalField):
    def __init__(self, label: str, **kwargs) -> None:
        super().__init__(
            label=label,
            max_digits=9,
            decimal_places=3,
            widget=forms.TextInput(attrs=DECIMAL_BOX),
            error_messages={
                "invalid": "Write a number, such as 1 or 2.5.",
                "max_digits": "That is too many digits. Write a number up to 1,440.",
                "max_decimal_places": "Write at most three digits behind the point.",
                "max_whole_digits": "That is too large. Write a number up to 1,440.",
                "required": "Write how many.",
            },
            **kwargs,
        )


class PriceField(forms.DecimalField):
    """A price per unit in the home currency, to six decimals."""

    def __init__(self, label: str, *, places: int = 6, **kwargs) -> None:
        super().__init__(
            label=label,
            max_digits=12,
            decimal_places=places,
            min_value=0,
            widget=forms.TextInput(attrs={**DECIMAL_BOX, "class": "amount"}),
            error_messages={
                "invalid": "Write an amount, such as 12 or 12.50.",
                "min_value": "An amount is zero or more.",
                "max_digits": "That is more than any amount here can be.",
                "max_whole_digits": "That is more than any amount here can be.",
                "max_decimal_places": f"Write at most {places} digits behind the point.",
                "required": "Write an amount; 0 is one.",
            },
            **kwargs,
        )


class AmountField(forms.DecimalField):
    """An amount that a person types in the home currency; its clean value is whole minor units."""

    def __init__(self, label: str, **kwargs) -> None:
        super().__init__(
            label=label,
            max_digits=MOST_DIGITS,
            widget=forms.TextInput(attrs=DECIMAL_BOX),
            error_messages={
                "invalid": "Write an amount in figures, such as 12, 12.50 or 1,238.98.",
                "max_digits": "That is more than any amount here can be.",
                "required": "Write an amount.",
            },
            **kwargs,
        )

    def to_python(self, value):
        if isinstance(value, str):
            value = value.strip().replace(" ", "")
            if THOUSANDS.fullmatch(value):
                value = value.replace(",", "")
        return super().to_python(value)

    def clean(self, value) -> int | None:
        amount = super().clean(value)
        if amount is None:
            return None
        minor = amount * Decimal(10) ** home.digits()
        if minor != minor.to_integral_value():
            raise forms.ValidationError(f"Write at most {home.digits()} digits behind the point.")
        return int(minor)


class PeriodForm(forms.Form):
    """From and to, both counted in."""

    from_on = DayField("From")
    to_on = DayField("To")

    def __init__(self, asked: Mapping[str, str], *, first: date, last: date) -> None:
        """Read what was asked for; when nothing was, the period from `first` to `last`."""
        super().__init__(asked if "from_on" in asked else {"from_on": first, "to_on": last})

    def clean(self):
        said = super().clean()
        if {"from_on", "to_on"} <= said.keys() and said["to_on"] < said["from_on"]:
            self.add_error("to_on", "The period ends before it begins. Correct one of the two dates.")
        return said
