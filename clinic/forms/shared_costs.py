"""The shared costs of a year: one service to a line, in the order in which they are closed."""

import re
from decimal import Decimal

from django import forms

from config import figures
from config.fields import DayField, PriceField

LINE = re.compile(r"(?P<name>[^:]+?)\s+(?P<cost>[\d.,]+)\s*:\s*(?P<bases>.*)")


COUNT_MESSAGES = {
    "required": "Write how many; 0 is a number.",
    "invalid": "Write a whole number, such as 6570.",
    "min_value": "It is zero or more.",
    "max_value": "That is more than a year can have.",
}


class SharedYearForm(forms.Form):
    starts_on = DayField("From", help_text="Until another year begins. Earlier days keep theirs.")
    services = forms.CharField(
        label="What is shared, in its order",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 7, "spellcheck": "false"}),
        help_text="One to a line: name, cost of a year, a colon, then who uses how much. "
        "“Rooms 24000: Cleaning 40, Ward 210, Theater 35”. What stands higher is shared first.",
        error_messages={"required": "Write at least one service."},
    )
    ward_cost = PriceField("The ward’s own cost of a year", help_text="What serves boarding alone; no staff time.")
    theater_cost = PriceField("The theater’s own cost of a year", help_text="What serves operations alone.")
    boarding_days = forms.IntegerField(
        label="Boarding days of a year",
        min_value=0,
        max_value=9_999_999,
        error_messages=COUNT_MESSAGES,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    theater_minutes = forms.IntegerField(
        label="Theater minutes of a year",
        min_value=0,
        max_value=9_999_999,
        error_messages=COUNT_MESSAGES,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        help_text="Those that it is there for, not those that are used: nobody pays for an empty theater twice.",
    )

    def clean_services(self) -> list[dict]:
        return [self._service(line.strip()) for line in self.cleaned_data["services"].splitlines() if line.strip()]

    def _service(self, line: str) -> dict:
        found = LINE.fullmatch(line)
        if found is None:
            raise forms.ValidationError(f"“{line[:60]}” lacks its cost or its colon.")
        bases = [part.strip().rpartition(" ") for part in found["bases"].split(",") if part.strip()]
        return {
            "name": found["name"][:60],
            "cost": _number(found["cost"].replace(",", ""), line),
            "bases": tuple((name.strip()[:60], _number(base, line)) for name, _, base in bases),
        }


def _number(written: str, line: str) -> Decimal:
    number = figures.figure(written)
    if number is None or not 0 <= number < 1_000_000_000 or number * 1000 % 1:
        raise forms.ValidationError(f"“{line[:60]}”: “{written[:20]}” is no amount. Write it such as 24000 or 12.5.")
    return number
