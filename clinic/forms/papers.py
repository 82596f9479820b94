"""The period of a paper."""

from datetime import date

from django import forms

from clinic.forms.fields import DayField


class PeriodForm(forms.Form):
    """From and to, both counted in; empty means this calendar year to date."""

    from_on = DayField("From", required=False)
    to_on = DayField("To", required=False)

    def __init__(self, *args, today: date, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean(self):
        said = super().clean()
        said["from_on"] = said.get("from_on") or self.today.replace(month=1, day=1)
        said["to_on"] = said.get("to_on") or self.today
        if said["to_on"] < said["from_on"]:
            self.add_error("to_on", "The period ends before it begins. Correct one of the two dates.")
        return said
