"""Forms for opening a fund and for the period of a fund's page."""

from collections.abc import Sequence
from datetime import date

from django import forms

from ledger.forms.fields import DayField, KeyField, LineField

PURPOSES = (("purpose", "for a kind of care"), ("general", "whatever is needed most"))
FOR_ONE = {"animal": "gifts that name this animal", "partner": "the fund of this partner"}


class FundForm(forms.Form):
    """A fund with its leftover clause. For an animal or a partner its page brings the key along."""

    key = KeyField()
    name = LineField("Name", 80)
    kind = forms.ChoiceField(label="What it is for", choices=PURPOSES, widget=forms.RadioSelect, initial="purpose")
    traits = forms.MultipleChoiceField(
        label="Kinds of care that it pays for",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Care must be all of what you choose.",
    )
    is_restricted = forms.BooleanField(
        label="Its givers restricted it", required=False, help_text="The house's own earmark is no restriction."
    )
    given_for = LineField("What it is given for, in words", 200, required=False)
    leftover = LineField(
        "What is not needed goes to",
        300,
        required=False,
        help_text="Printed wherever gifts for this fund are asked for; a restricted fund needs it.",
    )
    on = DayField("Opened on")
    use_by = DayField("To be used by", required=False)
    subject_key = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)
    party_key = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)

    def __init__(self, *args, traits: Sequence[str] = (), kind: str = "", **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["traits"].choices = [(trait, trait.replace("_", " ").replace(":", ": ")) for trait in traits]
        if kind in FOR_ONE:
            self.fields["kind"].choices = [(kind, FOR_ONE[kind])]
            self.fields["kind"].initial = kind
            del self.fields["traits"]


class PeriodForm(forms.Form):
    """From and to, both counted in; empty means the calendar year to date."""

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
