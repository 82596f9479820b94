"""Fields that several forms share, each with sentences that say what to write instead."""

import uuid

from django import forms

DATE = {"invalid": "Write a date, such as 2026-10-14.", "required": "Choose a date."}


class KeyField(forms.UUIDField):
    """The key made when the form is shown, so that a form sent twice is one form."""

    def __init__(self) -> None:
        super().__init__(widget=forms.HiddenInput, initial=uuid.uuid4)


class DayField(forms.DateField):
    def __init__(self, label: str, *, required: bool = True, help_text: str = "", **kwargs) -> None:
        super().__init__(
            label=label,
            required=required,
            help_text=help_text,
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            error_messages=DATE,
            **kwargs,
        )


class QuantityField(forms.DecimalField):
    """A quantity: a decimal box that opens the number keys of a tablet."""

    def __init__(self, label: str, **kwargs) -> None:
        super().__init__(
            label=label,
            max_digits=9,
            decimal_places=3,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
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
    """An amount that a person types: one plain decimal box in the home currency."""

    def __init__(self, label: str, *, places: int = 6, **kwargs) -> None:
        super().__init__(
            label=label,
            max_digits=12,
            decimal_places=places,
            min_value=0,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "amount"}),
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
