"""Forms for making and ending a partner's agreement."""

from django import forms

from config.fields import DayField, KeyField, LineField
from ledger.models.accounts import CARE, NAME_OF

OF = (("rest", "of what gifts naming the animal leave over"), ("whole", "of the whole charge"))


class AgreementForm(forms.Form):
    key = KeyField()
    name = LineField("Name", 80, help_text="As it stands in the books, such as Brindle Yard agreement.")
    percent = forms.DecimalField(
        label="Percent that the partner pays",
        max_digits=7,
        decimal_places=4,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={"invalid": "Write a number, such as 40.", "required": "Write how many percent."},
    )
    of = forms.ChoiceField(label="Of what", choices=OF, widget=forms.RadioSelect, initial="rest")
    kinds = forms.MultipleChoiceField(
        label="Kinds of care",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=[(code, NAME_OF[code]) for code in CARE],
        help_text="None chosen: every kind.",
    )
    from_on = DayField("From the day of care")
    until_on = DayField("Until", required=False)


class EndForm(forms.Form):
    agreement_id = forms.IntegerField(widget=forms.HiddenInput)
    until_on = DayField("Ends with")
