"""Carrying what is open, closing a month, and reopening it."""

from collections.abc import Sequence

from django import forms

from config.fields import DayField, KeyField, LineField


class ThroughForm(forms.Form):
    """Through which day to close: the month's end unless somebody says otherwise."""

    through_on = DayField("Close through")


class CarryForm(forms.Form):
    key = KeyField()
    things = forms.MultipleChoiceField(
        label="What is carried",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose what is carried.", "invalid_choice": "This is settled meanwhile."},
    )
    why = LineField("Why", 300, required=False, help_text="Kept with your name, and printed in the closing report.")

    def __init__(self, *args, things: Sequence[tuple[str, str]] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["things"].choices = things


class CloseForm(forms.Form):
    key = KeyField()
    through_on = DayField("Close through")


class ReopenForm(forms.Form):
    key = KeyField()
    why = LineField(
        "Why it is reopened",
        300,
        help_text="It stands beside the closing for good.",
        error_messages={"required": "Write why the period is reopened."},
    )
