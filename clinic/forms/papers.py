"""The period of a paper."""

from collections.abc import Mapping
from datetime import date

from django import forms

from clinic.forms.fields import DayField


class PeriodForm(forms.Form):
    """From and to, both counted in."""

    from_on = DayField("From")
    to_on = DayField("To")

    def __init__(self, asked: Mapping[str, str], *, first: date, last: date) -> None:
        """Read what was asked for; when nothing was, the period from `first` to `last`."""
        super().__init__(asked if "from_on" in asked else {"from_on": first, "to_on": last})

    def clean(self):
        said = super().clean()
        if len(said) == len(self.fields) and said["to_on"] < said["from_on"]:
            self.add_error("to_on", "The period ends before it begins. Correct one of the two dates.")
        return said
